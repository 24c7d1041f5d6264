// Elements made by hand: text is only ever set as text, never as markup.

/**
 * @param {string} tag
 * @param {Record<string, any>} [set] properties; "class", "aria-…" and "data-…" become attributes
 * @param {...(Node|string|null|undefined|false)} children
 * @returns {any}
 */
export function el(tag, set = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(set)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (/^(class|for|role|lang|scope|list|colspan|aria-.*|data-.*)$/.test(name))
      made.setAttribute(name, String(value));
    else /** @type {any} */ (made)[name] = value;
  }
  made.append(...children.filter((c) => c || c === "").map((c) => /** @type {any} */ (c)));
  return made;
}

/** @param {string} id @returns {any} */
export const byId = (id) => document.getElementById(id);

/** Put children in place of what an element holds. @param {Element} of @param {any[]} children */
export function fill(of, ...children) {
  of.replaceChildren(...children.filter(Boolean));
}

let fields = 0;

/**
 * A labelled input. `about` is said below it.
 * @param {string} label
 * @param {any} input
 * @param {string} [about]
 */
export function field(label, input, about = "") {
  const id = input.id || `f${(fields += 1)}`;
  input.id = id;
  const note = about ? el("small", { id: `${id}-about` }, about) : null;
  if (note) input.setAttribute("aria-describedby", note.id);
  return el("div", { class: "field" }, el("label", { for: id }, label), input, note);
}
