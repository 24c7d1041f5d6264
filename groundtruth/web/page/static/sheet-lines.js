// A dropped sheet of turns: which of its lines went to which pass, once it was measured.

import { el } from "./dom.js";
import { clock, length, number } from "./figures.js";
import { session } from "./state.js";
import { say } from "./words.js";

/** @param {any[]} passes */
export function sheetTable(passes) {
  const figures = session.result?.passes || [];
  const lines = new Map((session.result?.cells || []).map((cell) => [`${cell.pass} ${cell.unit}`, cell]));
  const heads = ["pass", "time", "length", "sheet"].map((key) => el("th", { scope: "col" }, say(`col.${key}`)));
  const rows = passes.map((found) => {
    const of = figures.filter((one) => one.start < found.end && one.end > found.start);
    const texts = of.map((one) => {
      const cell = lines.get(`${one.number} ${one.unit}`);
      const line = cell?.line ? `${say("sheet.line", { line: cell.line })}: ` : "";
      const doubt = cell && cell.verdict !== "agrees" ? ` (${say(cell.verdict === "doubtful" ? "cell.doubtful" : "cell.out")})` : "";
      return `${line}${say("sheet.row", { number: one.number, unit: one.unit })}, ${number(one.turns, Number.isInteger(one.turns) ? 0 : 1)}${doubt}`;
    });
    return el(
      "tr",
      {},
      el("th", { scope: "row" }, String(found.number)),
      el("td", { "data-label": say("col.time") }, clock(found.start)),
      el("td", { "data-label": say("col.length") }, length(found.length_m)),
      el("td", { class: "remark", "data-label": say("col.sheet") }, texts.join("; ") || (figures.length ? say("sheet.nothing") : "–")),
    );
  });
  return el(
    "div",
    {},
    el("p", {}, say("sheet.about")),
    el("table", { class: "passes" }, el("caption", { class: "unseen" }, say("step.counts")), el("thead", {}, el("tr", {}, ...heads)), el("tbody", {}, ...rows)),
  );
}
