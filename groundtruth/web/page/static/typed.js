// Lengths as they are typed: a bare number gets the unit of the switch written behind it.

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
