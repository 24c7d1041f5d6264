// The part "Setting": bench counts to the setting and the card; seed needed; stands counted.

import { ask } from "./api.js";
import { drawn, links } from "./blocks.js";
import { byId, el, field, fill } from "./dom.js";
import { groundUnit, lengthUnit } from "./figures.js";
import { runTyped } from "./measure.js";
import { typedRows } from "./rows.js";
import { changed, session, state } from "./state.js";
import { bound } from "./typed.js";
import { working } from "./work.js";
import { say } from "./words.js";

/** @param {Element} into */
export function settingPart(into) {
  if (!state.crops.length) state.crops.push({});
  const crop = state.crops[Math.min(state.crop_at || 0, state.crops.length - 1)];
  fill(
    into,
    el("h1", {}, say("setting.title")),
    el("section", { class: "step" }, el("h2", {}, say("setting.crop")), cropForm(into, crop)),
    el("section", { class: "step" }, el("h2", {}, say("setting.bench")), ...bench(into, crop)),
    el("section", { class: "step" }, el("h2", {}, say("seed.title")), ...seed(crop)),
    el("section", { class: "step" }, el("h2", {}, say("stand.title")), ...stand(crop)),
  );
}

function cropForm(into, crop) {
  const which = el(
    "select",
    { id: "which-crop", onchange: () => ((state.crop_at = Number(which.value)), changed(), settingPart(into)) },
    ...state.crops.map((one, at) => el("option", { value: at, selected: one === crop }, one.crop || `${say("crop.crop")} ${at + 1}`)),
  );
  return el(
    "div",
    { class: "form" },
    state.crops.length > 1 && field(say("setting.which"), which),
    field(say("crop.crop"), bound(crop, "crop", "set-crop")),
    field(`${say("crop.spacing")} (${groundUnit().name})`, bound(crop, "spacing", "set-spacing", groundUnit)),
    field(say("crop.germination"), bound(crop, "germination", "set-germination", undefined, true)),
    field(say("crop.field_emergence"), bound(crop, "field_emergence", "set-emergence", undefined, true)),
  );
}

/** A button with what it brings below it. */
function asking(id, words, work) {
  const out = el("div", { id: `${id}-out`, "aria-live": "polite" });
  const press = async () => {
    fill(out);
    const said = await working(words, `${id}-out`, work);
    if (said) out.replaceChildren(drawn(said.blocks), el("div", { class: "buttons" }, ...links(said.pages || {})));
  };
  return [el("div", { class: "buttons" }, el("button", { type: "button", id, class: "main", onclick: press }, say(id))), out];
}

function bench(into, crop) {
  const typed = state.bench;
  const measured = session.result;
  const ground = bound(typed, "ground", "bench-ground", groundUnit);
  if (measured) ground.placeholder = say("setting.measured");
  const columns = [...(typed.by_lot ? ["lot"] : []), "setting", "turns", ...(typed.weighed ? ["weight", "thousand"] : ["seeds"])];
  const tick = (key) => {
    const box = el("input", {
      type: "checkbox",
      id: `bench-${key}`,
      checked: Boolean(typed[key]),
      onchange: () => {
        typed[key] = box.checked;
        changed();
        settingPart(into);
        byId(`bench-${key}`).focus();
      },
    });
    return el("label", { class: "tick" }, box, say(`bench.${key}`));
  };
  return [
    el("p", {}, say("setting.about")),
    el(
      "div",
      { class: "form" },
      field(`${say("figure.ground")} (${groundUnit().name})`, ground, say(measured ? "setting.ground.measured" : "setting.ground.typed")),
      field(say("machine.settings"), bound(state.machine, "settings", "bench-settings"), say("setting.order.about")),
    ),
    el("fieldset", { class: "ticks" }, el("legend", { class: "unseen" }, say("setting.bench")), tick("weighed"), tick("by_lot")),
    typed.weighed && el("p", { class: "small" }, say("bench.thousand.about")),
    typedRows("bench", typed.rows, columns.map((key) => ({ key, label: say(`bench.${key}`), decimal: key !== "setting" && key !== "lot" })), say("setting.bench")),
    ...asking("choose", "working.choose", () =>
      ask("setting", {
        ...crop,
        units: state.units,
        rows: typed.rows,
        weighed: Boolean(typed.weighed),
        by_lot: Boolean(typed.by_lot),
        ground: typed.ground,
        order: state.machine.settings || "",
        seeder: state.machine.name ?? "",
        run: session.result && !typed.ground.trim() ? runTyped() : null,
      }),
    ),
  ];
}

function seed(crop) {
  const typed = state.seed;
  return [
    el(
      "div",
      { class: "form" },
      field(`${say("seed.lengths")} (${lengthUnit().name})`, bound(typed, "lengths", "seed-lengths"), say("seed.lengths.about")),
      field(say("seed.loss"), bound(typed, "loss", "seed-loss", undefined, true)),
      field(say("seed.per_gram"), bound(typed, "seeds_per_gram", "seed-per-gram", undefined, true)),
      field(say("seed.in_bag"), bound(typed, "in_bag", "seed-in-bag"), say("seed.in_bag.about")),
    ),
    ...asking("reckon", "working.choose", () => ask("seed", { ...crop, ...typed, units: state.units })),
  ];
}

function stand(crop) {
  const typed = state.stand;
  const columns = [
    { key: "length", label: `${say("stand.length")} (${lengthUnit().name})`, decimal: true },
    { key: "plants", label: say("stand.plants"), decimal: true },
  ];
  return [
    el("p", {}, say("stand.about")),
    el("div", { class: "form" }, field(say("stand.dropped", { unit: lengthUnit().name }), bound(typed, "seeds_per_length", "stand-dropped", undefined, true))),
    typedRows("stands", typed.rows, columns, say("stand.title")),
    ...asking("emerged", "working.choose", () =>
      ask("stand", { crop: crop.crop, germination: crop.germination || "", rows: typed.rows, seeds_per_length: typed.seeds_per_length, units: state.units }),
    ),
  ];
}

