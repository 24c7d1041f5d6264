// Inputs that keep what is typed. A bare number gets the unit of the switch written behind it.

import { el } from "./dom.js";
import { changed, state } from "./state.js";

const BARE = /^[+-]?\d+([.,]\d+)?(\s+\d+\/\d+)?$|^\d+\/\d+$/;

/** A listener for change. @param {() => {name: string}} unit */
export function withUnit(unit) {
  /** @param {any} event */
  return (event) => {
    const input = event.target;
    const text = input.value.trim();
    if (!BARE.test(text)) return;
    input.value = `${text} ${unit().name}`;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
}

/**
 * The input, with what was typed into it and not used yet; kept by its id until it is `settled`.
 * @param {any} input
 */
export function held(input) {
  if (input.id in state.held) input.value = state.held[input.id];
  input.addEventListener("input", () => {
    state.held[input.id] = input.value;
    changed();
  });
  return input;
}

/** What was typed into these was used. @param {any[]} inputs */
export function settled(inputs) {
  for (const { id } of inputs) delete state.held[id];
  changed();
}

/**
 * An input for one key of what is kept; a length where a unit is given.
 * @param {any} of @param {string} key @param {string} id @param {() => any} [unit] @param {boolean} [plain]
 */
export function bound(of, key, id, unit, plain = false) {
  const input = el("input", {
    id,
    value: of[key] ?? "",
    autocomplete: "off",
    maxLength: 200,
    inputMode: unit || plain ? "decimal" : null,
    oninput: () => {
      of[key] = input.value;
      changed();
    },
    onchange: unit ? withUnit(unit) : null,
  });
  return input;
}
