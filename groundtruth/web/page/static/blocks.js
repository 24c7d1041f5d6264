// Tables and sentences as the core puts them, in the language of the page.

import { el } from "./dom.js";
import { say } from "./words.js";

/** @param {any[]} blocks */
export function drawn(blocks) {
  return el("div", { class: "blocks" }, ...blocks.map((one) => (one.heads ? table(one) : sentences(one))));
}

function sentences(block) {
  return el(
    "section",
    { class: block.warning ? "said-list warn" : "said-list" },
    block.title && el("h3", {}, block.title),
    ...block.sentences.map((text, at) => el("p", { class: at < block.strong ? "verdict-line" : "" }, text)),
  );
}

function table(block) {
  const rows = block.rows.map(([first, ...rest], at) =>
    el(
      "tr",
      { class: block.marked.includes(at) ? "marked" : "" },
      el("th", { scope: "row" }, first),
      ...rest.map((cell) => el("td", {}, cell)),
    ),
  );
  return el(
    "div",
    { class: "table", tabIndex: 0, role: "region", "aria-label": block.title },
    el(
      "table",
      { class: "plain" },
      el("caption", {}, block.title),
      el("thead", {}, el("tr", {}, ...block.heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, ...rows),
    ),
  );
}

/** Links to pages that open in a window of their own. @param {Record<string, string>} pages */
export function links(pages) {
  return Object.entries(pages).map(([name, address]) =>
    el("a", { href: address, target: "_blank", rel: "noopener" }, say(`open.${name}`)),
  );
}
