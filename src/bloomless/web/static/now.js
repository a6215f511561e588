// The present in large figures: temperature with its trend, the chance, the minutes.
import { t, put, number, degrees, degreeUnit, temperature, perMinute, percent, lasting } from "./words.js";
import { bowl, now } from "./bowl.js";
import { speak } from "./sound.js";

const STEADY_K_MIN = 0.05, OLD_AFTER_S = 25;
const WORDS = () => [
  [0.05, t("almost surely not")], [0.3, t("unlikely")], [0.45, t("rather not")], [0.55, t("as likely as not")],
  [0.7, t("rather yes")], [0.9, t("probably")], [2, t("almost surely")],
];
const inWords = (chance) => (chance === null || chance === undefined ? t("not known yet") : WORDS().find(([limit]) => chance < limit)[1]);
const given = (value) => value !== null && value !== undefined;

const SPEAK_EVERY_S = 60, SPEAK_AFTER_K = 0.5;
let spoken = null;
// The number heard is said back: what was typed at once, what flows in every minute or after half a degree.
function speakReading(reading) {
  if (!reading || (spoken && reading.at === spoken.at)) return;
  const typed = bowl.typed === reading.temperature_C, moved = !spoken || Math.abs(reading.temperature_C - spoken.temperature_C) >= SPEAK_AFTER_K;
  if (!spoken || typed || moved || reading.at - spoken.at >= SPEAK_EVERY_S) {
    if (spoken) speak(temperature(reading.temperature_C));
    spoken = reading;
    bowl.typed = null;
  }
}
export function showNow() {
  speakReading(bowl.state.reading);
  const { state, advice } = bowl, estimate = state.estimate ?? {}, band = estimate.temperature_C;
  const shown = state.reading ? degrees(state.reading.temperature_C) : band ? degrees(band.p50) : "–";
  put("degrees", shown);
  document.getElementById("degrees").classList.toggle("long", shown.length > 4); // 113.0 °F
  put("unit", degreeUnit());
  put("trend", trendText(state.trend_C_min));
  put("believed", band ? t("in the bowl {low} to {high}", { low: degrees(band.p05), high: temperature(band.p95) }) : "");
  showAge();
  put("chance", percent(estimate.chance_in_temper));
  put("chance-words", inWords(estimate.chance_in_temper));
  document.getElementById("chance-bar").style.setProperty("--share", `${(estimate.chance_in_temper ?? 0) * 100}%`);
  const { working_minutes_left: left, minutes_to_temper: until } = advice;
  const working = left && estimate.chance_in_temper > 0.5, minutes = working ? left : until;
  put("minutes-label", working ? t("working minutes left") : t("minutes to temper"));
  put("minutes", minutes ? number(minutes.p50, 0) : "–");
  put("minutes-range", minutes ? `${number(minutes.p05, 0)}–${number(minutes.p95, 0)}` : "");
}
// A number typed some time ago says so.
export function showAge() {
  const age_s = bowl.state.reading ? now() - bowl.state.reading.at : 0;
  const old = age_s > OLD_AFTER_S && !bowl.state.finished;
  put("age", old ? t("read {time} ago", { time: lasting(Math.floor(age_s / 10) * 10) }) : "");
}
function trendText(slope) {
  if (!given(slope)) return t("no trend yet");
  if (Math.abs(slope) < STEADY_K_MIN) return t("→ steady");
  return slope > 0 ? t("↗ rising {slope}", { slope: perMinute(slope) }) : t("↘ falling {slope}", { slope: perMinute(slope) });
}
