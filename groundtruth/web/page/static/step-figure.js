// Step 4: the figure with its verdict, what its doubt comes from, and what is to be looked at.

import { el } from "./dom.js";
import { ground, groundUnit, number, percent, placesOf, roughPercent } from "./figures.js";
import { session } from "./state.js";
import { say } from "./words.js";

/** @param {() => void} measure */
export function figureStep(measure) {
  const button = el("button", { type: "button", id: "measure", class: "main", onclick: measure }, say("measure"));
  const result = session.result;
  return el("div", {}, button, result ? answer(result) : null);
}

function answer(result) {
  const said = result.sentences;
  const figure = ground(result.ground_per_turn_m, result.ground_per_turn_95_m, result.ground_per_turn_u_m);
  const [low, high] = figure.ends;
  return el(
    "div",
    { class: "answer", id: "answer", tabIndex: -1 },
    el("p", { class: "figure" }, el("strong", {}, figure.value), " ", say("figure.per_turn")),
    el("p", { class: "sure" }, say("figure.sure", { low, high, unit: figure.unit })),
    el("p", { class: `verdict-line ${result.verdict.replace(/ /g, "-")}` }, verdict(result)),
    el("ul", { class: "facts" }, ...facts(result).map((text) => el("li", {}, text))),
    list("look", [...said.watch, ...said.warnings], "warn"),
    list("surer", said.surer),
    result.targets.length > 0 && targets(result),
    result.row_units.length > 1 && rowUnits(result),
    budget(result.budget),
    notes([...said.repairs, ...said.facts]),
  );
}

/** What to do with the figure in use. */
function verdict(result) {
  const wide = (result.ground_per_turn_95_m[1] - result.ground_per_turn_95_m[0]) / 2 / result.ground_per_turn_m;
  const u = result.ground_per_turn_u_m;
  const value = ground(result.ground_per_turn_m, null, u).value;
  const used = result.ground_per_turn_in_use_m;
  const old = used === null ? "" : ground(used, null, u).value;
  if (result.verdict === "cannot tell") {
    if (result.slip_is_impossible) return say("verdict.slip");
    if (result.counts_contradict) return say("verdict.counts");
    return say("verdict.wide", { wide: roughPercent(wide) });
  }
  if (result.verdict === "keep it") return say("verdict.keep", { old });
  if (result.verdict === "use it") return say("verdict.use", { value });
  const change = roughPercent(Math.abs(result.change));
  return say(result.change > 0 ? "verdict.more" : "verdict.less", { value, old, change });
}

function facts(result) {
  const found = [];
  if (result.slip !== null) {
    const slip = percent(result.slip, result.slip_95, result.slip_u);
    found.push(say("figure.slip", { value: slip.value, low: slip.ends[0], high: slip.ends[1] }));
  }
  found.push(result.sentences.rests);
  return found;
}

/** Sentences of the core. @param {string} key @param {string[]} sentences */
function list(key, sentences, kind = "") {
  if (!sentences.length) return null;
  return el(
    "section",
    { class: `said-list ${kind}` },
    el("h3", {}, say(`figure.${key}`)),
    el("ul", {}, ...sentences.map((text) => el("li", {}, text))),
  );
}

function notes(sentences) {
  if (!sentences.length) return null;
  return el(
    "details",
    {},
    el("summary", {}, say("figure.notes", { count: sentences.length })),
    el("ul", {}, ...sentences.map((text) => el("li", {}, text))),
  );
}

function tableOf(title, heads, rows) {
  return el(
    "table",
    { class: "plain" },
    el("caption", {}, title),
    el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
    el("tbody", {}, ...rows.map(([first, ...rest]) => el("tr", {}, el("th", { scope: "row" }, first), ...rest.map((cell) => el("td", {}, cell))))),
  );
}

function targets(result) {
  const rows = result.targets.map((one) => {
    const places = Math.min(2, placesOf(one.seeds_per_turn_u || one.seeds_per_turn / 100));
    const [low, high] = one.seeds_per_turn_95.map((end) => number(end, places));
    return [one.crop, number(one.seeds_per_turn, places), `${low}–${high}`];
  });
  return tableOf(say("targets"), [say("crop.crop"), say("targets.seeds"), say("sure.95")], rows);
}

function rowUnits(result) {
  const places = placesOf(result.ground_per_turn_u_m / groundUnit().metres);
  const rows = result.row_units.map((one) => [
    one.unit,
    number(one.ground_per_turn_m / groundUnit().metres, places),
    one.lags ? say("unit.lags") : "",
  ]);
  return tableOf(say("units.table"), [say("unit"), `${say("figure.ground")} (${groundUnit().name})`, say("col.remark")], rows);
}

function budget(shares) {
  const rows = shares.map((one) =>
    el(
      "li",
      {},
      el("span", {}, say(`source.${one.source.replace(/ /g, "_")}`)),
      el("meter", { min: 0, max: 1, value: one.share, "aria-label": say(`source.${one.source.replace(/ /g, "_")}`) }),
      el("span", {}, `${Math.round(100 * one.share)} %`),
    ),
  );
  return el("details", { class: "budget" }, el("summary", {}, say("budget")), el("p", { class: "small" }, say("budget.about")), el("ul", {}, ...rows));
}

