// Ways of selling: margin and mark-up follow one another as they are typed, and what a cost of 1 then sells for is said.
import { t, number, typed, sign } from "./words.js";

const short = (pct) => pct.toFixed(1).replace(/\.0$/, "").replace(".", sign());
const share = (field) => (field.value.trim() ? typed(field.value) / 100 : 0);

for (const way of document.querySelectorAll(".channel")) {
  const field = (part) => way.querySelector(`[name^=${part}]`);
  const [name, margin, markup, fee, tax, by] = ["channel", "margin", "markup", "fee", "tax", "by"].map(field), follows = way.querySelector(".follows");
  // m = (1 − f)·u/(1 + u) and back; nothing follows from what cannot be.
  const follow = () => {
    const f = share(fee), m = share(margin), u = share(markup);
    if (by.value === "markup") margin.value = markup.value.trim() && u >= 0 && f >= 0 && f < 1 ? short((100 * (1 - f) * u) / (1 + u)) : "";
    else markup.value = margin.value.trim() && m >= 0 && f >= 0 && m + f < 1 ? short((100 * m) / (1 - m - f)) : "";
  };
  const say = () => {
    const f = share(fee), x = share(tax), u = share(markup), led = by.value === "markup";
    const net = led ? (1 + u) / (1 - f) : 1 / (1 - share(margin) - f), can = net > 0 && Number.isFinite(net) && x >= 0 && name.value.trim() && (margin.value || markup.value).trim();
    const values = { one: `${number(1, 2)} ${follows.dataset.currency}`, net: `${number(net, 2)} ${follows.dataset.currency}`, shelf: `${number(net * (1 + x), 2)} ${follows.dataset.currency}` };
    follows.textContent = !can ? "" : x > 0 ? t("A cost of {one} sells for {net}, with tax {shelf}.", values) : t("A cost of {one} sells for {net}.", values);
  };
  for (const one of [margin, markup]) one.addEventListener("input", () => { by.value = one === margin ? "margin" : "markup"; });
  way.addEventListener("input", (event) => { if (![name, tax].includes(event.target)) follow(); say(); });
  say();
}
