// All words of the page stand in one catalogue a language; another language needs one more file.
import de from "./words-de.js";
import en from "./words-en.js";

export const LANGUAGES = { en, de };
let words = en;
let language = "en";
let place = "en"; // the language as it is written where the phone lives

/** The language of the phone, where there is a catalogue for it. */
export function usual() {
  const wanted = navigator.languages.map((one) => one.slice(0, 2));
  return wanted.find((one) => one in LANGUAGES) ?? "en";
}

export function speak(chosen) {
  language = chosen in LANGUAGES ? chosen : "en";
  words = LANGUAGES[language];
  place = navigator.languages.find((one) => one.slice(0, 2) === language) ?? language;
  document.documentElement.lang = language;
  document.title = words.title;
}

/** The words for a key, with {names} replaced by values. */
export function say(key, values = {}) {
  const text = words[key];
  if (text === undefined) throw new Error(`no words for ${key}`);
  return text.replace(/\{(\w+)\}/g, (_, name) => String(values[name]));
}

/** A number in the spelling of the language. */
export function shown(number, digits = 0) {
  return number.toLocaleString(place, {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
  });
}

/** A length in the units chosen. */
export function shownLength(metres, units) {
  if (units === "us") return `${shown(metres / 0.3048)}\u00a0ft`;
  return `${shown(metres)}\u00a0m`;
}

/** The time of day on the phone's clock. */
export function clock(time) {
  return new Date(time).toLocaleTimeString(place, { hour: "numeric", minute: "2-digit" });
}

/** Day and time of day on the phone's clock. */
export function dayAndClock(time) {
  return new Date(time).toLocaleString(place, { dateStyle: "medium", timeStyle: "short" });
}
