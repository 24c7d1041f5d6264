// The part "Season": its runs, map, beds, chart and comparisons; what was done to it, and undone.

import { ask } from "./api.js";
import { drawn, links } from "./blocks.js";
import { drawChart } from "./chart.js";
import { byId, el, field, fill } from "./dom.js";
import { ground } from "./figures.js";
import { state } from "./state.js";
import { changeForm, changes } from "./season-changes.js";
import { held, settled } from "./typed.js";
import { working } from "./work.js";
import { say } from "./words.js";

let seeder = ""; // whose runs are charted and compared, where there are several

/** @param {Element} into */
export async function seasonPart(into) {
  const out = el("div", { id: "season" });
  fill(into, el("h1", {}, say("season.title")), out);
  const said = await working("working.season", "season", () => ask("season", { units: state.units, seeder }));
  if (!said || !out.isConnected) return;
  if (!said.runs.length && !said.log) {
    fill(out, el("p", { class: "empty" }, say("season.none")), el("code", {}, said.record));
    return;
  }
  seeder = said.seeder;
  fill(
    out,
    section("season.about", el("div", {}, ...said.overview.map((text) => el("p", {}, text))), mapButton()),
    said.odd.length > 0 && section("season.odd", el("ul", { class: "warn" }, ...said.odd.map((text) => el("li", {}, text)))),
    said.runs.length > 0 && section("season.runs", runs(said.runs)),
    said.chart && section("chart.title", said.seeders.length > 1 && ofSeeder(said.seeders, into), el("div", { class: "drawn", tabIndex: 0, role: "region", "aria-label": say("chart.title") }, drawChart(said.chart)), el("div", {}, ...said.chart_said.map((text) => el("p", {}, text)))),
    said.runs.length > 1 && section("compare.title", compare()),
    said.beds.length > 0 && section("season.beds", el("details", {}, el("summary", {}, say("season.beds.show")), drawn(said.beds), renameBed())),
    section("season.change", said.changes.length > 0 && changes(said.changes), changeForm()),
    section("season.log", steps(said.log)),
    el("p", { class: "small" }, say("season.file"), " ", el("code", {}, said.record)),
  );
}

const section = (key, ...content) => el("section", { class: "step" }, el("h2", {}, say(key)), el("div", { class: "trouble-here" }), ...content.filter(Boolean));

/**
 * Put something right in the record and show it anew, the keyboard where it was.
 * @param {object} what @param {any[]} [inputs] what was typed for it
 */
export async function mend(what, inputs = []) {
  const at = document.activeElement?.id ?? "";
  const said = await working("working.season", "season", () => ask("mend", what));
  if (!said) return;
  settled(inputs);
  await seasonPart(byId("part"));
  byId("said").textContent = said.said;
  const back = byId(at) ?? byId("part");
  const folded = back.closest("details");
  if (folded) folded.open = true;
  back.focus();
}

/** Choose whose runs are charted and compared. @param {string[]} names @param {Element} into */
function ofSeeder(names, into) {
  const options = names.map((one) => el("option", { value: one, selected: one === seeder }, one));
  const select = el("select", { id: "season-of" }, ...options);
  select.addEventListener("change", () => {
    seeder = select.value;
    seasonPart(into);
  });
  return field(say("season.seeder"), select);
}

function mapButton() {
  const out = el("div", { id: "season-map" });
  const press = async () => {
    const said = await working("working.season", "season-map", () => ask("season-map", { units: state.units }));
    if (said) fill(out, el("div", { class: "buttons" }, ...links(said.pages)));
  };
  return el("div", {}, el("button", { type: "button", id: "make-map", onclick: press }, say("season.map")), out);
}

function runs(list) {
  return el(
    "ul",
    { class: "runs" },
    ...list.map((run) => {
      const inputs = Object.fromEntries(
        ["name", "seeder", "soil", "note"].map((key) => [key, held(el("input", { id: `run-${run.number}-${key}`, value: run[key], maxLength: 200 }))]),
      );
      const figure = ground(run.ground_m, run.ground_95_m, run.ground_u_m);
      const all = Object.values(inputs);
      const keep = () => mend({ do: "edit", number: run.number, ...Object.fromEntries(Object.entries(inputs).map(([key, input]) => [key, input.value])) }, all);
      const away = () => mend({ do: "remove", number: run.number }, all);
      return el(
        "li",
        {},
        el(
          "details",
          { open: all.some((input) => input.id in state.held) },
          el("summary", { id: `run-${run.number}` }, `${run.day} · ${run.name} · ${figure.value} (${figure.ends.join("–")})${run.soil ? ` · ${run.soil}` : ""}${run.seeder ? ` · ${run.seeder}` : ""}`),
          el("div", { class: "form" }, ...Object.entries(inputs).map(([key, input]) => field(say(key === "name" ? "run.name" : `season.${key}`), input))),
          el(
            "div",
            { class: "buttons" },
            el("button", { type: "button", id: `run-${run.number}-save`, onclick: keep }, say("save")),
            el("button", { type: "button", id: `run-${run.number}-remove`, onclick: away, "aria-label": `${say("remove")}: ${run.name}` }, say("remove")),
          ),
        ),
      );
    }),
  );
}

function compare() {
  const first = held(el("input", { id: "compare-first", maxLength: 100 }));
  const second = held(el("input", { id: "compare-second", maxLength: 100 }));
  const way = held(el("select", { id: "compare-way" }, ...["change", "soil", "seeder", "year", "units"].map((one) => el("option", { value: one }, say(`compare.${one}`)))));
  const out = el("div", { id: "compare-out", "aria-live": "polite" });
  const press = async () => {
    fill(out);
    const said = await working("working.season", "compare-out", () => ask("compare", { way: way.value, first: first.value, second: second.value, seeder, units: state.units }));
    if (said) out.replaceChildren(drawn(said.blocks));
  };
  return el(
    "div",
    {},
    el("div", { class: "form" }, field(say("compare.way"), way), field(say("compare.first"), first, say("compare.first.about")), field(say("compare.second"), second)),
    el("div", { class: "buttons" }, el("button", { type: "button", id: "compare", onclick: press }, say("compare"))),
    out,
  );
}

function renameBed() {
  const bed = held(el("input", { id: "bed-old", maxLength: 80 }));
  const name = held(el("input", { id: "bed-new", maxLength: 80 }));
  return el(
    "div",
    { class: "form" },
    field(say("bed.old"), bed),
    field(say("bed.new"), name),
    el("button", { type: "button", id: "rename", onclick: () => mend({ do: "rename", bed: bed.value, name: name.value }, [bed, name]) }, say("bed.rename")),
  );
}

function steps(list) {
  return el(
    "ol",
    { class: "log", lang: "en" },
    ...list.map((step) =>
      el(
        "li",
        { class: step.undone ? "undone" : "" },
        el("span", {}, `${step.number}. ${step.at} `),
        el("span", {}, step.text),
        step.can_go_back && el("button", { type: "button", id: `undo-${step.number}`, "aria-label": `${say("undo")} ${step.number}`, onclick: () => mend({ do: "undo", number: step.number }) }, say("undo")),
      ),
    ),
  );
}
