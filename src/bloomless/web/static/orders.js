// An order of the advice in few words, and what the cook would tell once it is done.
import { t, mass, temperature, lasting, percent } from "./words.js";

export const VESSELS = () => ({ steel: t("steel"), glass: t("glass"), plastic: t("plastic"), ceramic: t("ceramic"), copper: t("copper"), aluminium: t("aluminium") });
const VIGOUR = () => ({ none: t("not stirred"), gentle: t("gently"), steady: t("steadily"), brisk: t("briskly") });
export const BY = () => ({ warm_bath: t("over warm water"), cool_bath: t("in cool water"), microwave: t("in the microwave"), hot_air: t("with hot air") });
export const METHODS = () => ({ ice: t("in crushed ice and water"), boiling: t("in boiling water"), second_probe: t("against a second thermometer") });
export const SURFACES = () => ({ paper: t("paper"), steel: t("steel"), stone: t("stone"), plastic: t("plastic"), glass: t("glass") });

// Of whole grams no decimal: nobody weighs 10.0 g of seed.
const amount = (g) => mass(g, Number.isInteger(g) ? 0 : undefined);

export function headline(order) {
  switch (order?.do) {
    case "heat_on": return [t("Heat"), order.to_C ? t("to {temperature}", { temperature: temperature(order.to_C, 0) }) : ""];
    case "pour_over": return [t("Pour over"), ""];
    case "add_seed": return [t("Seed"), amount(order.mass_g)];
    case "add_melt": return [t("Add melt"), amount(order.mass_g)];
    case "warm_bath": return [t("Warm bath"), lasting(order.seconds)];
    case "cool_bath": return [t("Cool bath"), lasting(order.seconds)];
    case "microwave": return [t("Microwave"), lasting(order.seconds)];
    case "hot_air": return [t("Hot air"), lasting(order.seconds)];
    case "table": return [t("Table"), percent(order.share)];
    case "stir":
      if (order.share) return [t("On the stone"), order.seconds ? lasting(order.seconds) : ""];
      return order.vigour === "none" ? [t("Wait"), order.seconds ? lasting(order.seconds) : ""] : [t("Stir"), order.seconds ? lasting(order.seconds) : ""];
    case "look": return [t("Look"), ""];
    case "smear": return [t("Smear"), ""];
    case "sieve": return [t("Sieve"), ""];
    case "check_thermometer": return [t("Check"), t("probe")];
    case "use_it": return [t("Use it"), ""];
    case "melt_again": return [t("Melt again"), order.to_C ? temperature(order.to_C, 0) : ""];
    case "stop": return [t("Stop"), ""];
    default: return [t("One moment"), ""];
  }
}
export function detail(order) {
  switch (order?.do) {
    case "add_seed": return order.form === "cocoa_butter_crystals" ? t("cocoa butter crystals") : order.size_mm ? t("chopped to about {size} mm", { size: order.size_mm }) : "";
    case "add_melt": return order.temperature_C ? t("untempered, at {temperature}", { temperature: temperature(order.temperature_C, 0) }) : t("untempered");
    case "warm_bath": case "cool_bath": return t("water at {temperature}", { temperature: temperature(order.bath_C, 0) });
    case "microwave": case "hot_air": return order.watts ? t("at {watts} W", { watts: order.watts }) : "";
    case "table": return t("of the bowl, for {time}", { time: lasting(order.seconds ?? 60) });
    case "stir": return order.share ? t("work it there, then scrape it back") : order.vigour && order.vigour !== "none" ? VIGOUR()[order.vigour] : "";
    case "look": return t("Lumps? How thick? How does it run off the spatula?");
    case "smear": return t("Knife or {surface}, thin, and lay it aside", { surface: SURFACES()[order.surface] ?? t("paper") });
    case "check_thermometer": return METHODS()[order.method] ?? "";
    case "heat_on": case "melt_again": return BY()[order.by] ?? "";
    case "pour_over": return t("into a cool, dry bowl");
    case "use_it": return t("mould, dip or pour now");
    default: return "";
  }
}
export const spoken = (order) => [...headline(order), detail(order)].filter(Boolean).join(", ");

// What is told when an advised step is done as advised; null where the cook has to say what was seen.
export function told(order) {
  switch (order?.do) {
    case "add_seed": return { what: "seed", mass_g: order.mass_g, ...(order.size_mm ? { size_mm: order.size_mm } : {}), ...(order.form ? { form: order.form } : {}) };
    case "add_melt": return { what: "add", ingredient: "melt", mass_g: order.mass_g, temperature_C: order.temperature_C ?? 45 };
    case "warm_bath": case "cool_bath": return { what: order.do, bath_C: order.bath_C, seconds: order.seconds };
    case "microwave": case "hot_air": return { what: order.do, seconds: order.seconds, ...(order.watts ? { watts: order.watts } : {}) };
    case "table": return { what: "table", share: order.share, seconds: order.seconds ?? 60 };
    case "pour_over": return { what: "pour" };
    case "smear": return { what: "smear", surface: order.surface ?? "paper" };
    default: return null;
  }
}
// Where "done" needs an answer, the deed whose questions are opened: melting is told as what it was done by.
const ASKED = { look: "look", sieve: "sieve", check_thermometer: "probe_check", use_it: "finish" };
export const MELTS = new Set(["heat_on", "melt_again"]);
export const asks = (order) => (MELTS.has(order?.do) ? order.by ?? "warm_bath" : ASKED[order?.do]);
// What the button says that opens them.
export function asking(order) {
  if (MELTS.has(order?.do)) return t("Tell how you heat …");
  return { use_it: t("Finish this bowl …"), check_thermometer: t("Tell what it shows …"), sieve: t("Tell what came out …") }[order?.do] ?? t("Tell what you see …");
}

export const CAUTIONS = () => ({
  warm_bath: t("Steam burns, and water makes chocolate seize: no boiling, dry the foot of the bowl before you pour."),
  cool_bath: t("Keep water out of the bowl; dry its foot before you pour."),
  microwave: t("Hot spots: the middle can burn while the bowl feels cool. No metal, probe and spoon out; short bursts, stir before you read or lift."),
  hot_air: t("Hot air burns; dry hands, cable away from water, nothing that can catch fire."),
  heat_on: t("Hot chocolate sticks to skin and burns. Children at arm’s length; cool a burn under running water."),
  melt_again: t("Hot chocolate sticks to skin and burns. Children at arm’s length; cool a burn under running water."),
  pour_over: t("The bowl may be hot: hold it by a dry cloth."),
});
// Melting burns, and so does that by which it is done.
export const cautionsOf = (order) => [CAUTIONS()[order?.by], CAUTIONS()[order?.do]].filter(Boolean).join(" ");
export const WHAT = () => ({
  start: t("Started"), reading: t("Reading"), probe_check: t("Thermometer check"), pour: t("Poured over"), seed: t("Seed"), add: t("Melt added"),
  warm_bath: t("Warm bath"), cool_bath: t("Cool bath"), microwave: t("Microwave"), hot_air: t("Hot air"), table: t("Table"), stir: t("Stirring"),
  look: t("Look"), smear: t("Smear"), sieve: t("Taken out"), remove: t("Poured"), water: t("Water got in"), finish: t("Finished"), correct: t("Corrected"),
});
export const FOREIGN = () => ({ glass: t("glass"), metal: t("metal"), wrong_allergen: t("a wrong allergen"), off_smell: t("an off smell"), other: t("something else") });
const SEEN = () => ({ none: t("no lumps"), few: t("few lumps"), many: t("many lumps"), thin: t("thin"), flowing: t("flowing"), thick: t("thick"), paste: t("like paste"), quick: t("runs quickly"), good: t("runs well"), slow: t("runs slowly") });
// One told event in a few words.
export function inWords(event) {
  const parts = [];
  if (event.what === "reading") parts.push(temperature(event.temperature_C));
  if (event.mass_g !== undefined && event.what !== "start") parts.push(mass(event.mass_g));
  if (event.what === "start") parts.push(mass(event.mass_g));
  if (event.seconds) parts.push(lasting(event.seconds));
  if (event.bath_C) parts.push(temperature(event.bath_C, 0));
  if (event.watts) parts.push(`${event.watts} W`);
  if (event.share) parts.push(percent(event.share));
  if (event.vigour) parts.push(VIGOUR()[event.vigour]);
  for (const key of ["lumps", "thickness", "drain"]) if (event[key]) parts.push(SEEN()[event[key]] ?? "");
  if (event.foreign) parts.push(FOREIGN()[event.foreign]);
  if (event.streaks) parts.push(t("streaks"));
  if (event.set_after_s) parts.push(t("set after {time}", { time: lasting(event.set_after_s) }));
  if (event.not_set_after_s) parts.push(t("not set after {time}", { time: lasting(event.not_set_after_s) }));
  if (event.finish) parts.push({ glossy: t("glossy"), streaked: t("streaked"), dull: t("dull") }[event.finish]);
  if (event.used !== undefined) parts.push(event.used ? t("used") : t("not used"));
  if (event.shown_C !== undefined) parts.push(t("showed {shown}, should show {due}", { shown: temperature(event.shown_C), due: temperature(event.reference_C) }));
  return [WHAT()[event.what] ?? event.what, parts.filter(Boolean).join(", ")].filter(Boolean).join(": ");
}
