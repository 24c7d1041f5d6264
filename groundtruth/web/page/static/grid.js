// A table of inputs as a sheet: arrow keys and Enter move, a copied block is pasted whole.

/** The inputs of a row to type into, struck ones left out. @param {Element} row */
const inputsOf = (row) => /** @type {any[]} */ ([...row.querySelectorAll("td.typed input:not(:disabled)")]);

/** @param {any} event */
function placeOf(event) {
  const input = event.target;
  const body = input.closest?.("tbody");
  if (!body || !input.closest("td.typed")) return null;
  const rows = [...body.rows].filter((row) => inputsOf(row).length);
  const row = rows.indexOf(input.closest("tr"));
  return { rows, row, at: inputsOf(rows[row]).indexOf(input) };
}

/** @param {KeyboardEvent} event */
export function moveByKeys(event) {
  const steps = { ArrowDown: 1, Enter: 1, ArrowUp: -1 };
  const step = steps[/** @type {keyof typeof steps} */ (event.key)];
  const place = step && !event.isComposing && placeOf(event);
  if (!place) return;
  const row = place.rows[place.row + step];
  if (!row) return;
  event.preventDefault();
  const next = inputsOf(row)[place.at];
  next?.focus();
  next?.select();
}

/** @param {ClipboardEvent} event */
export function pasteBlock(event) {
  const text = event.clipboardData?.getData("text/plain") ?? "";
  const place = placeOf(event);
  if (!place || !/[\t\n]/.test(text.trimEnd())) return;
  event.preventDefault();
  const block = text.replace(/\r\n?/g, "\n").replace(/\n+$/, "").split("\n").map((line) => line.split("\t"));
  block.forEach((cells, down) => {
    const row = place.rows[place.row + down];
    if (!row) return;
    const inputs = inputsOf(row);
    cells.forEach((cell, right) => {
      const input = inputs[place.at + right];
      if (!input) return;
      input.value = cell.trim().slice(0, 40);
      input.dispatchEvent(new Event("input", { bubbles: true }));
      input.dispatchEvent(new Event("change", { bubbles: true }));
    });
  });
}
