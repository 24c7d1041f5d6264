// The part "Measure": from the track to the figure, in four steps on one page.

import { ask } from "./api.js";
import { byId, el, fill } from "./dom.js";
import { changed, session, state } from "./state.js";
import { countsStep, drawMarks, rowOf } from "./step-counts.js";
import { onStrips } from "./strips.js";
import { figureStep } from "./step-figure.js";
import { machineStep } from "./step-machine.js";
import { takePending } from "./typed-back.js";
import { saveStep } from "./step-save.js";
import { trackStep } from "./step-track.js";
import { tellTrouble, working } from "./work.js";
import { say } from "./words.js";

/** @param {Element} into */
export function measurePart(into) {
  fill(
    into,
    el("h1", {}, say("measure.title")),
    step(1, "track", el("div", { id: "track" }, trackStep(afterFiles))),
    step(2, "counts", el("div", { id: "counts" })),
    step(3, "machine", machineStep()),
    step(4, "figure", el("div", { id: "figure" }), el("div", { id: "save" })),
  );
  drawFound();
  drawFigure();
}

function step(number, name, ...content) {
  return el(
    "section",
    { class: "step", "aria-labelledby": `step-${name}` },
    el("h2", { id: `step-${name}` }, el("span", { class: "number", "aria-hidden": "true" }, String(number)), say(`step.${name}`)),
    ...content,
  );
}

/** @param {boolean} [formsToo] what was dropped filled the forms */
async function afterFiles(formsToo = false) {
  changed();
  if (formsToo) measurePart(byId("part"));
  session.result = session.saved = null;
  fill(byId("track"), trackStep(afterFiles)); // the rest stays as it is: somebody may be typing there
  drawFigure();
  if ([null, document.body].includes(/** @type {any} */ (document.activeElement))) byId("add-files").focus();
  await findAgain();
}

async function look() {
  const strips = state.strips.map((one) => [...one]);
  const found = await ask("find", { tracks: state.tracks, time_zone: state.time_zone, strips });
  found.all = [...found.passes, ...found.strips.filter((one) => !one.error)].sort((a, b) => (a.start < b.start ? -1 : 1));
  return found;
}

/** Have what the core said said again, in another language or in other units. */
export async function sayAgain() {
  const { found, result } = session;
  try {
    if (found) session.found = await look();
    if (result) session.result = await ask("measure", { run: runTyped() });
  } catch {
    return; // what stands there is right, only in the old words
  }
  if (!byId("counts")) return;
  drawFound();
  drawFigure();
}

/** Look for the passes of the tracks on the desk. */
export async function findAgain() {
  if (state.tracks.length && !session.backdrop_asked) {
    session.backdrop_asked = true;
    session.backdrop = await ask("backdrop").catch(() => session.backdrop);
  }
  session.found = null;
  if (state.tracks.length) {
    session.found = await working("working.find", "counts", look);
    if (session.found) takePending(rowOf);
  }
  if (byId("counts")) drawFound();
}

function drawFound() {
  fill(byId("counts"), countsStep());
  countsStep.drawn();
}

/** The run as the server takes it. */
export function runTyped() {
  const { name, units, time_zone, tracks, sheet, by_counter, row_units, machine, bed_length, crops, farm, farm_id, field, phone, soil } = state;
  const found = session.found ? session.found.all : [];
  return {
    ...{ name, units, time_zone, tracks, sheet, by_counter, row_units, machine, bed_length, crops, farm, farm_id, field, phone, soil },
    passes: found.map((one) => ({ number: one.number, strip: one.given ?? null, ...rowOf(one) })),
  };
}

/** A strip was marked or taken back: the numbers may be others now. */
onStrips(async () => {
  session.result = session.saved = null;
  changed();
  drawFigure();
  await findAgain();
});

async function measure() {
  session.saved = session.result = null;
  drawFigure();
  drawMarks();
  session.result = await working("working.measure", "figure", () => ask("measure", { run: runTyped() }), tellTrouble);
  if (!session.result) return;
  drawFigure();
  if (state.sheet) drawFound();
  else drawMarks();
  byId("answer").focus();
}

function drawFigure() {
  fill(byId("figure"), figureStep(measure));
  fill(byId("save"), session.result && saveStep(runTyped));
}
