// Readings of a counter, kept as they were typed, so that 41.0 stays read to a tenth.

const READING = /^\s*(\d{1,9})(?:[.,](\d{1,3}))?\s*$/;

/** A reading with a decimal point, or null where the text is none. */
export function reading(text) {
  const match = READING.exec(text ?? "");
  return match ? match[1].replace(/^0+(?=\d)/, "") + (match[2] ? `.${match[2]}` : "") : null;
}

function scaled(text, decimals) {
  const [whole, part = ""] = text.split(".");
  return BigInt(whole + part.padEnd(decimals, "0"));
}

function decimalsOf(text) {
  return (text.split(".")[1] ?? "").length;
}

/** Turns from one reading to the next, exact: "858.5" and "935" give "76.5". */
export function turnsBetween(start, end) {
  const decimals = Math.max(decimalsOf(start), decimalsOf(end));
  const turned = scaled(end, decimals) - scaled(start, decimals);
  const digits = String(turned < 0n ? -turned : turned).padStart(decimals + 1, "0");
  const cut = digits.length - decimals;
  const text = decimals ? `${digits.slice(0, cut)}.${digits.slice(cut)}` : digits;
  return turned < 0n ? `-${text}` : text;
}

/** Whether a reading is lower than the one before it. */
export function falls(before, after) {
  return turnsBetween(before, after).startsWith("-");
}

/** What is wrong with readings typed at one end: by unit, "missing", "unread" or "falls".
 *
 * `typed` holds texts by unit, `before` the readings of the same counters earlier.
 */
export function faults(units, typed, before) {
  const wrong = {};
  for (const unit of units) {
    const text = typed[unit] ?? "";
    const value = reading(text);
    if (!text.trim()) wrong[unit] = "missing";
    else if (value === null) wrong[unit] = "unread";
    else if (before[unit] !== undefined && falls(before[unit], value)) wrong[unit] = "falls";
  }
  return wrong;
}

/** The typed readings of these units as they are kept. */
export function readings(units, typed) {
  return Object.fromEntries(units.map((unit) => [unit, reading(typed[unit])]));
}

/** Units whose counter stands as it stood. */
export function unmoved(units, before, after) {
  return units.filter((unit) => Number(turnsBetween(before[unit], after[unit])) === 0);
}
