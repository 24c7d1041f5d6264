// A small table to type into that grows by itself: there is always an empty row at its end.

import { el } from "./dom.js";
import { moveByKeys, pasteBlock } from "./grid.js";
import { changed } from "./state.js";
import { say } from "./words.js";

/**
 * @param {string} id @param {any[]} rows what is typed, kept by the caller
 * @param {{key: string, label: string, decimal?: boolean}[]} columns @param {string} title
 */
export function typedRows(id, rows, columns, title) {
  const body = el("tbody", { onkeydown: moveByKeys, onpaste: (event) => paste(event) });
  const full = (row) => columns.some(({ key }) => (row[key] || "").trim());

  function grow() {
    while (rows.length < 4 || full(rows[rows.length - 1])) rows.push({});
    while (body.rows.length < rows.length) body.append(line(body.rows.length));
  }

  function line(at) {
    const cells = columns.map(({ key, label, decimal }) => {
      const input = el("input", {
        id: `${id}-${key}-${at}`,
        value: rows[at][key] ?? "",
        maxLength: 60,
        autocomplete: "off",
        inputMode: decimal ? "decimal" : null,
        "aria-label": `${label}, ${say("row")} ${at + 1}`,
        oninput: () => {
          rows[at][key] = input.value;
          grow();
          changed();
        },
      });
      return el("td", { class: "typed", "data-label": label }, input);
    });
    return el("tr", {}, ...cells);
  }

  /** Rows for the whole block first. @param {ClipboardEvent} event */
  function paste(event) {
    const lines = (event.clipboardData?.getData("text/plain") ?? "").split("\n").length;
    const from = [...body.rows].indexOf(/** @type {any} */ (event.target).closest("tr"));
    while (rows.length < Math.min(from + lines, 500)) rows.push({});
    while (body.rows.length < rows.length) body.append(line(body.rows.length));
    pasteBlock(event);
  }

  grow();
  return el(
    "table",
    { class: "passes typed-rows", id },
    el("caption", { class: "unseen" }, title),
    el("thead", {}, el("tr", {}, ...columns.map(({ label }) => el("th", { scope: "col" }, label)))),
    body,
  );
}

