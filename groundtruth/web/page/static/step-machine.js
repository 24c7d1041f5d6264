// Step 3: machine and crops, remembered from run to run.

import { el, field } from "./dom.js";
import { groundUnit, lengthUnit } from "./figures.js";
import { changed, state } from "./state.js";
import { bound } from "./typed.js";
import { say } from "./words.js";

const SMALL = ["wheel_circumference", "ground_per_gear_turn_in_use", "row_spacing"];
const NAMES = ["farm", "field"];
const WORDS = ["id", "tyre"];
const TEXTURES = ["sand", "loamy sand", "sandy loam", "loam", "silt loam", "silt", "sandy clay loam", "clay loam", "silty clay loam", "sandy clay", "silty clay", "clay"];
const MORE = ["bed_width", "bed_spacing", "antenna_ahead", "antenna_right", "settings"];

export function machineStep() {
  const turnsOf = el(
    "select",
    { id: "machine-turns_of", onchange: () => ((state.machine.turns_of = turnsOf.value), changed()) },
    ...["gear", "wheel"].map((of) => el("option", { value: of, selected: state.machine.turns_of === of }, say(`machine.${of}`))),
  );
  const crops = el("div", { class: "crops" });
  drawCrops(crops);
  return el(
    "div",
    {},
    el(
      "div",
      { class: "form" },
      machineField("name", false),
      ...NAMES.map((key) => field(say(`run.${key}`), bound(state, key, `machine-${key}`))),
      field(say("machine.turns_of"), turnsOf),
      machineField("wheel_circumference", true),
      machineField("gear_turns_per_wheel_turn", true),
      machineField("ground_per_gear_turn_in_use", true),
      field(say("machine.bed_length"), bound(state, "bed_length", "machine-length", lengthUnit), say("machine.bed_length.about")),
    ),
    el(
      "details",
      {},
      el("summary", {}, say("machine.more")),
      el(
        "div",
        { class: "form" },
        ...["row_units", "row_spacing", ...MORE].map((key) => machineField(key, false)),
        field(say("time_zone"), bound(state, "time_zone", "machine-time_zone"), say("time_zone.about")),
        field(say("run.name"), bound(state, "name", "run-name")),
        ...["tyre_pressure", "ballast", ...WORDS].map((key) => machineField(key, false)),
        choice("moisture", ["dry", "moist", "wet"]),
        choice("texture", TEXTURES),
        ...["farm_id", "phone"].map((key) => field(say(`run.${key}`), bound(state, key, `machine-${key}`))),
      ),
    ),
    el("h3", {}, say("crops")),
    crops,
    el("button", { type: "button", onclick: () => (state.crops.push({}), changed(), drawCrops(crops)) }, say("crops.add")),
  );
}

/** A word about the soil. @param {string} key @param {string[]} options */
function choice(key, options) {
  const select = el(
    "select",
    { id: `machine-${key}`, onchange: () => ((state.soil[key] = select.value), changed()) },
    ...["", ...options].map((one) => el("option", { value: one, selected: (state.soil[key] ?? "") === one }, one ? say(`soil.${one.replace(/ /g, "_")}`) : "–")),
  );
  return field(say(`soil.${key}`), select);
}

const UNITS = {
  tyre_pressure: () => ({ name: state.units === "us" ? "psi" : "bar" }),
  ballast: () => ({ name: state.units === "us" ? "lb" : "kg" }),
};

/** @param {string} key @param {boolean} about */
function machineField(key, about) {
  const unit = SMALL.includes(key) || ["antenna_ahead", "antenna_right"].includes(key) ? groundUnit : ["bed_width", "bed_spacing"].includes(key) ? groundUnit : UNITS[key];
  const label = unit ? `${say(`machine.${key}`)} (${unit().name})` : say(`machine.${key}`);
  const plain = ["gear_turns_per_wheel_turn", "row_units"].includes(key);
  return field(label, bound(state.machine, key, `machine-${key}`, unit, plain), about ? say(`machine.${key}.about`) : "");
}

/** @param {Element} into */
function drawCrops(into) {
  into.replaceChildren(
    ...state.crops.map((crop, at) =>
      el(
        "fieldset",
        { class: "form crop" },
        el("legend", { class: "unseen" }, `${say("crops")} ${at + 1}`),
        field(say("crop.crop"), bound(crop, "crop", `crop-crop-${at}`)),
        field(`${say("crop.spacing")} (${groundUnit().name})`, bound(crop, "spacing", `crop-spacing-${at}`, groundUnit)),
        field(say("crop.germination"), bound(crop, "germination", `crop-germination-${at}`, undefined, true)),
        field(say("crop.field_emergence"), bound(crop, "field_emergence", `crop-field_emergence-${at}`, undefined, true)),
        state.crops.length > 1 &&
          el(
            "button",
            { type: "button", "aria-label": `${say("remove")}: ${crop.crop || at + 1}`, onclick: () => (state.crops.splice(at, 1), changed(), drawCrops(into)) },
            say("remove"),
          ),
      ),
    ),
  );
}
