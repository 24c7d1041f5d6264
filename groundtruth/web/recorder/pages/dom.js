/** An element with attributes and children. Strings become text, so nothing typed is ever markup. */
export function el(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value") node.value = value;
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  node.append(...children.flat(2).filter((c) => c !== null && c !== undefined && c !== false));
  return node;
}

/** What was typed, as one line without control or direction characters, at most 60 long. */
export function clean(text) {
  return String(text)
    .replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu, " ")
    .replace(/\s+/g, " ")
    .trim()
    .slice(0, 60)
    .trim();
}

/** A note: as `clean`, but as long as a spoken sentence or two. */
export function cleanNote(text) {
  return String(text)
    .replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu, " ")
    .replace(/\s+/g, " ")
    .trim()
    .slice(0, 500)
    .trim();
}
