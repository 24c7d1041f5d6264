// A run that was kept before, dropped back in: its forms and counts are filled to be typed on.

import { session, state } from "./state.js";

/** Fill machine, crops and names from a run's description. @param {any} form */
export function fillForms(form) {
  const { name, units, time_zone, machine, origin, soil, bed_length, crops } = form;
  Object.assign(state, { name, units, bed_length, soil, ...origin });
  if (time_zone) state.time_zone = time_zone;
  state.machine = { turns_of: "gear", ...machine };
  state.crops = crops.length ? crops : [{}];
  state.named = form.files;
  session.left_out = form.left_out;
}

/** Counts to stand beside the passes once these are found. @param {any} form @param {string} name */
export function fillCounts(form, name) {
  state.row_units = form.row_units;
  state.by_counter = false;
  state.sheet = "";
  state.strips = form.passes.filter((one) => one.strip).map((one) => one.strip);
  state.pending = form.passes;
  state.named = state.named.filter((one) => one !== name);
  for (const key of ["taped", "bed", "crop", "setting"]) {
    if (form.passes.some((one) => one[key]) && !state.extra.includes(key)) state.extra.push(key);
  }
}

/** Put the counts beside their passes. @param {(found: any) => any} rowOf */
export function takePending(rowOf) {
  if (!state.pending) return;
  const missing = [];
  for (const { number, strip, turns, taped, bed, crop, setting } of state.pending) {
    const found = strip
      ? session.found.strips.find((one) => one.given[0] === strip[0] && one.given[1] === strip[1])
      : session.found.passes.find((one) => one.number === number);
    if (found) Object.assign(rowOf(found), { turns: [...turns], taped, bed, crop, setting, struck: false });
    else missing.push(number);
  }
  const counted = new Set(state.pending.filter((one) => !one.strip).map((one) => one.number));
  for (const one of session.found.passes) if (!counted.has(one.number)) rowOf(one).struck = true;
  session.uncounted = missing;
  state.pending = null;
}

/** Files that the run's description names and that are not here yet. */
export function stillMissing() {
  const here = session.files.map((one) => one.name);
  return state.named.filter((name) => !here.includes(name));
}
