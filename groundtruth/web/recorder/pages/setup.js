// What is set up at home. Kept as it was typed, and turned into values where it is needed.
import { clean } from "./dom.js";

const CM_PER_INCH = 2.54;

/** An empty form in the language and the units of the phone. */
export function emptyForm(language) {
  const us = (navigator.language ?? "").endsWith("-US");
  return {
    language,
    units: us ? "us" : "metric",
    farm: "",
    field: "",
    seeder: "",
    turnsOf: "gear",
    unitNames: "1",
    beds: "",
    settings: "",
    crops: [],
    wheel: "",
    limits: "",
    ratio: "",
    inUse: "",
  };
}

/** The unit in which lengths of the machine are typed. */
export function smallUnit(form) {
  return form.units === "us" ? "in" : "cm";
}

/** A number above 0 as it is written into a file, "" for nothing, null where it is none. */
function plain(text) {
  const trimmed = String(text).trim().replace(",", ".");
  if (!trimmed) return "";
  return /^\d{1,6}(\.\d{1,6})?$/.test(trimmed) && Number(trimmed) > 0 ? trimmed : null;
}

function names(text) {
  return text.split("\n").map(clean).filter(Boolean);
}

/** The values of a form, and what is wrong with it: [key of the words, values]. */
export function setupOf(form) {
  /** @type {[string, any][]} */
  const wrong = [];
  const unit = smallUnit(form);
  const figure = (text, what) => {
    const value = plain(text);
    if (value === null) wrong.push(["no_number", { what }]);
    return value ?? "";
  };
  const distinct = (list) => {
    const twice = list.find((name, index) => list.indexOf(name) !== index);
    if (twice) wrong.push(["two_alike", { name: twice }]);
    return list;
  };
  const units = distinct(names(form.unitNames));
  if (!units.length) wrong.push(["no_unit", {}]);
  const crops = form.crops
    .map((crop) => ({ name: clean(crop.name), typed: crop.spacing ?? "" }))
    .filter((crop) => crop.name)
    .map((crop) => ({ name: crop.name, spacing: { value: figure(crop.typed, crop.name), unit } }));
  distinct(crops.map((crop) => crop.name));
  const setup = {
    language: form.language,
    units: form.units,
    farm: clean(form.farm),
    field: clean(form.field),
    seeder: clean(form.seeder),
    turnsOf: form.turnsOf,
    unitNames: units,
    beds: distinct(names(form.beds)),
    settings: distinct(names(form.settings)),
    crops,
    wheel: { value: figure(form.wheel, "wheel"), unit },
    wheelLimits: figure(form.limits, "limits"),
    ratio: figure(form.ratio, "ratio"),
    inUse: { value: figure(form.inUse, "in_use"), unit },
  };
  return { setup, wrong };
}

/** The form in the other units, its lengths converted. */
export function inUnits(form, units) {
  if (units === form.units) return form;
  const factor = units === "us" ? 1 / CM_PER_INCH : CM_PER_INCH;
  const other = (text) => {
    const value = plain(text);
    return value ? String(Number((Number(value) * factor).toFixed(3))) : text;
  };
  return {
    ...form,
    units,
    wheel: other(form.wheel),
    limits: other(form.limits),
    inUse: other(form.inUse),
    crops: form.crops.map((crop) => ({ ...crop, spacing: other(crop.spacing ?? "") })),
  };
}

/** The form with one more bed, setting or crop, unless it is there. */
export function withOneMore(form, list, typed) {
  const name = clean(typed);
  if (list === "crops") {
    if (form.crops.some((crop) => clean(crop.name) === name)) return form;
    return { ...form, crops: [...form.crops, { name, spacing: "" }] };
  }
  if (names(form[list]).includes(name)) return form;
  return { ...form, [list]: `${form[list].trimEnd()}\n${name}`.trimStart() };
}
