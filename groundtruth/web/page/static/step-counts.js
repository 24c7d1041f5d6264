// Step 2: the passes found, on the map and in a table, with the counts typed beside them.

import { el, byId } from "./dom.js";
import { clock, lasting, length, lengthUnit } from "./figures.js";
import { backdropLine } from "./backdrop-line.js";
import { drawMap, mark } from "./map.js";
import { moveByKeys, pasteBlock } from "./grid.js";
import { changed, session, state } from "./state.js";
import { sheetTable } from "./sheet-lines.js";
import { stripsLine, takeBack } from "./strips.js";
import { withUnit } from "./typed.js";
import { unitsLine } from "./units-line.js";
import { say } from "./words.js";

const WINDS = ["n", "ne", "e", "se", "s", "sw", "w", "nw"];

/** What is typed beside a pass, which is known by when it began. @param {any} found */
export function rowOf(found) {
  return (state.rows[found.given ? `strip ${found.given[0]}` : found.start] ??= { turns: [], at_start: [], at_end: [], taped: "", bed: "", crop: "", setting: "", struck: false });
}

export function countsStep() {
  const found = session.found;
  if (!found) return el("p", { class: "empty" }, say(state.tracks.length ? "counts.wait" : "counts.none"));
  const count = found.passes.length;
  const remarks = found.notices;
  return el(
    "div",
    {},
    session.uncounted?.length > 0 && el("p", { class: "trouble", id: "uncounted" }, say("counts.missing", { passes: session.uncounted.join(", ") })),
    el("p", { class: "found" }, say(count === 1 ? "counts.one" : "counts.found", { count })),
    !state.sheet && unitsLine(again),
    el(
      "div",
      { class: "beside" },
      el("div", { class: "mapside" }, el("div", { id: "map", class: "map", role: "application", "aria-label": say("map.label") }), !state.sheet && stripsLine(rowOf), backdropLine(again)),
      el("div", { class: "table" }, state.sheet ? sheetTable(found.passes) : passesTable(found.all)),
    ),
    remarks.length > 0 &&
      el("details", {}, el("summary", {}, say("counts.remarks", { count: remarks.length })), el("ul", {}, ...remarks.map((r) => el("li", {}, r)))),
  );
}

countsStep.drawn = () => {
  if (session.found) {
    drawMap(byId("map"), session.found, (one) => rowOf(one).struck);
    drawMarks();
  }
};

function again() {
  changed();
  const old = document.activeElement?.id || "";
  const place = byId("counts");
  place.replaceChildren(countsStep());
  countsStep.drawn();
  byId(old)?.focus();
}

function passesTable(passes) {
  const heads = ["pass", "time", "length", "way", "remark"].map((key) => el("th", { scope: "col" }, say(`col.${key}`)));
  for (const unit of state.row_units) {
    if (state.by_counter) {
      heads.push(el("th", { scope: "col" }, say("col.from", { unit })), el("th", { scope: "col" }, say("col.to", { unit })));
    } else heads.push(el("th", { scope: "col" }, say("col.turns", { unit })));
  }
  for (const key of state.extra) heads.push(el("th", { scope: "col" }, say(`col.${key}`, { unit: lengthUnit().name })));
  heads.push(el("th", { scope: "col" }, say("col.strike")));
  const body = el("tbody", {}, ...passes.map(passRow));
  body.addEventListener("keydown", moveByKeys);
  body.addEventListener("paste", pasteBlock);
  return el("table", { class: "passes" }, el("caption", { class: "unseen" }, say("step.counts")), el("thead", {}, el("tr", {}, ...heads)), body);
}

function passRow(found) {
  const row = rowOf(found);
  const { number } = found;
  const cell = (kind, at, label, value, put, how = {}) => {
    const input = el("input", {
      id: `${kind}-${number}-${at}`,
      value: value ?? "",
      autocomplete: "off",
      maxLength: 40,
      disabled: row.struck,
      "data-row": number,
      "aria-label": `${label}, ${say("col.pass")} ${number}`,
      oninput: () => {
        put(input.value);
        changed();
      },
      ...how,
    });
    return el("td", { class: "typed", "data-label": label }, input);
  };
  const decimal = { inputMode: "decimal", class: "count" };
  const cells = state.row_units.flatMap((unit, at) =>
    state.by_counter
      ? [
          cell("start", at, say("col.from", { unit }), row.at_start[at], (v) => put(row.at_start, at, v), decimal),
          cell("turns", at, say("col.to", { unit }), row.at_end[at], (v) => put(row.at_end, at, v), decimal),
        ]
      : [cell("turns", at, say("col.turns", { unit }), row.turns[at], (v) => put(row.turns, at, v), decimal)],
  );
  const extras = state.extra.map((key) => {
    const how = key === "taped" ? { inputMode: "decimal", onchange: withUnit(lengthUnit) } : {};
    return cell(key, 0, say(`col.${key}`, { unit: lengthUnit().name }), row[key], (v) => (row[key] = v), how);
  });
  const strike = el("input", {
    type: "checkbox",
    id: `strike-${number}`,
    checked: row.struck,
    "aria-label": `${say("col.strike")}, ${say("col.pass")} ${number}`,
    onchange: () => {
      row.struck = strike.checked;
      again();
    },
  });
  const back = () => el("button", { type: "button", class: "back", id: `back-${number}`, "aria-label": `${say("strip.back")}, ${say("col.pass")} ${number}`, onclick: () => takeBack(found.given) }, say("strip.back"));
  return el(
    "tr",
    { id: `pass-${number}`, class: row.struck ? "struck" : "", onfocusin: () => mark(number), onmouseenter: () => mark(number) },
    el("th", { scope: "row" }, String(number)),
    told("time", clock(found.start)),
    told("length", length(found.length_m)),
    told("way", say(`way.${WINDS[Math.round(found.direction_deg / 45) % 8]}`)),
    el("td", { class: "told remark", "data-label": say("col.remark") }, remarkOf(found)),
    ...cells,
    ...extras,
    el("td", { class: "strike", "data-label": found.given ? "" : say("col.strike") }, ...(found.given ? [el("small", {}, say("strip.given")), back()] : [strike])),
  );
}

/** @param {string[]} list @param {number} at @param {string} value */
function put(list, at, value) {
  while (list.length < at) list.push("");
  list[at] = value;
}

const told = (key, text) => el("td", { class: "told", "data-label": say(`col.${key}`) }, text);

/** How its ends were found, where not by standing, and for how long it ran. @param {any} found */
function remarkOf(found) {
  const ends = ["start", "end"].map((end) => [end, found[`${end}_found`]]).filter(([, how]) => how === "rolling" || how === "track ends");
  const said = ends.map(([end, how]) => say(`end.${end}.${how.replace(" ", "_")}`));
  return [`${lasting(found.under_way_s)} min`, ...said].join("; ");
}

/** Show the doubtful counts where they were typed. */
export function drawMarks() {
  for (const old of document.querySelectorAll(".verdict")) old.remove();
  for (const old of document.querySelectorAll("[data-verdict]")) old.removeAttribute("data-verdict");
  for (const one of session.result?.marks || []) {
    const input = byId(`turns-${one.number}-${one.place}`);
    if (!input) continue;
    const id = `verdict-${one.number}-${one.place}`;
    input.setAttribute("data-verdict", one.verdict === "doubtful" ? "doubtful" : "out");
    input.setAttribute("aria-describedby", id);
    input.parentElement.append(el("small", { class: "verdict", id }, verdictText(one)));
  }
}

function verdictText(one) {
  const said = [say(one.verdict === "doubtful" ? "cell.doubtful" : "cell.out")];
  if (one.reason === "stands in another unit's place") said.push(say("cell.exchanged"));
  else if (one.expected) {
    const [low, high] = one.expected.map(String);
    said.push(say("cell.expected", { range: low === high ? low : `${low}–${high}` }));
    if (one.suggestion !== null) said.push(say("cell.suggestion", { turns: one.suggestion }));
  }
  return said.join(" ");
}
