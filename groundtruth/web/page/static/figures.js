// Figures as people read them: units of the switch, two digits of the uncertainty, ± is 95 %.

import { state } from "./state.js";
import { language } from "./words.js";

const us = () => state.units === "us";
export const groundUnit = () => (us() ? { name: "in", metres: 0.0254 } : { name: "cm", metres: 0.01 });
export const lengthUnit = () => (us() ? { name: "ft", metres: 0.3048 } : { name: "m", metres: 1 });
const PERCENT = { name: "%", metres: 0.01 };

/** @param {number} value @param {number} places */
export function number(value, places) {
  const text = value.toLocaleString(language() === "de" ? "de-DE" : "en-GB", {
    minimumFractionDigits: places,
    maximumFractionDigits: places,
    useGrouping: false,
  });
  return text.replace("-", "−");
}

/** Decimals that show two digits of an uncertainty. @param {number} u */
export const placesOf = (u) => (u > 0 ? Math.max(0, 1 - Math.floor(Math.log10(u))) : 1);

/**
 * @param {number} value @param {[number, number]|null} sure
 * @param {number} u @param {{name: string, metres: number}} unit
 */
function shown(value, sure, u, unit) {
  const places = placesOf(u / unit.metres);
  const ends = (sure ?? [value, value]).map((end) => number(end / unit.metres, places));
  return { value: `${number(value / unit.metres, places)} ${unit.name}`, ends, unit: unit.name };
}

/** @param {number} value @param {[number, number]|null} sure @param {number} u */
export const ground = (value, sure, u) => shown(value, sure, u, groundUnit());
/** @param {number} value @param {[number, number]|null} sure @param {number} u */
export const percent = (value, sure, u) => shown(value, sure, u, PERCENT);
/** @param {number} metres */
export function length(metres) {
  const unit = lengthUnit();
  return `${number(metres / unit.metres, us() ? 0 : 1)} ${unit.name}`;
}
/** @param {number} share */
export const roughPercent = (share) => `${number(100 * share, Math.abs(share) < 0.0995 ? 1 : 0)} %`;

/** Time of day in the run's zone. @param {string} utc */
export function clock(utc) {
  const how = { hour: "2-digit", minute: "2-digit", second: "2-digit", hour12: false };
  try {
    return new Date(utc).toLocaleTimeString("en-GB", { .../** @type {any} */ (how), timeZone: state.time_zone });
  } catch {
    return new Date(utc).toLocaleTimeString("en-GB", /** @type {any} */ (how));
  }
}

/** @param {number} seconds */
export function lasting(seconds) {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}
