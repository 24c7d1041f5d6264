// The words of the page: one file for each language, with the same keys.

import de from "./words-de.js";
import en from "./words-en.js";
import { state } from "./state.js";

export const LANGUAGES = { en: "English", de: "Deutsch" };
/** @type {Record<string, Record<string, string>>} */
const catalogues = { en, de };

/** @returns {"en"|"de"} */
export const language = () => (state.language in catalogues ? state.language : "en");

/**
 * The text of a key, with {names} filled in.
 * @param {string} key
 * @param {Record<string, string|number>} [values]
 */
export function say(key, values = {}) {
  const text = catalogues[language()][key] ?? en[/** @type {keyof typeof en} */ (key)] ?? key;
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}
