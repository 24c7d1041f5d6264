// What is typed, kept on disk as it is typed.
//
// Every change goes to the server at once, which writes it to disk. Until it has said so the change
// also lies in the browser's own store, so that not even a killed server or window loses it.

import { ask, Refused } from "./api.js";

const UNSAVED = "groundtruth-unsaved";
const WAIT_MS = 200;

/** @returns {any} */
export function fresh() {
  return {
    language: (navigator.language || "en").startsWith("de") ? "de" : "en",
    units: /-(US|LR|MM)$/.test(navigator.language) ? "us" : "metric",
    name: "",
    time_zone: Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC",
    tracks: [],
    sheet: "",
    named: [],
    pending: null,
    by_counter: false,
    row_units: ["1"],
    rows: {},
    strips: [],
    extra: [],
    farm: "",
    farm_id: "",
    field: "",
    phone: "",
    soil: { moisture: "", texture: "" },
    machine: { turns_of: "gear" },
    bed_length: "",
    crops: [{ crop: "", spacing: "", germination: "", field_emergence: "" }],
    season: { soil: "", note: "" },
    bench: { ground: "", order: "", rows: [], speed: "", weighed: false, by_lot: false },
    seed: { lengths: "", loss: "", in_bag: "", seeds_per_gram: "" },
    stand: { rows: [], seeds_per_length: "" },
    plan: { bed_length: "", speed: "", count: "whole", ends: "stand", within: "1", phone: "ordinary" },
    held: {},
  };
}

/** The state that all parts of the page read and write. @type {any} */
export const state = fresh();
/**
 * What is known until the window is closed: files on disk, passes found, the figure.
 * @type {Record<string, any>}
 */
export const session = { files: [], found: null, result: null, saved: null, folder: "", backdrop: { name: "", shapes: [], notices: [] } };
let revision = 0;
let timer = 0;
let busy = false;
let waiting = false;
/** @type {(how: "kept"|"keeping"|"away"|"elsewhere"|"old") => void} */
let tell = () => {};

/** @param {(how: any) => void} listener */
export function onKeeping(listener) {
  tell = listener;
}

/** What the browser's own store holds, if it was typed over what the disk has. @param {number} on */
function unsaved(on) {
  try {
    const held = JSON.parse(localStorage.getItem(UNSAVED) || "null");
    return held && held.revision === on ? held.state : null;
  } catch {
    return null;
  }
}

/** Read what is on disk. @returns {Promise<any>} the server's whole answer */
export async function restore() {
  const said = await ask("open");
  revision = said.revision;
  const newer = unsaved(revision);
  Object.assign(state, fresh(), said.state, newer || {});
  state.machine.name ??= state.season.seeder; // where drafts had it before
  session.files = said.files;
  session.folder = said.folder;
  if (newer) changed();
  return said;
}

/** Something was typed. */
export function changed() {
  try {
    localStorage.setItem(UNSAVED, JSON.stringify({ revision, state }));
  } catch {
    // a browser without a store of its own: the disk alone has to do
  }
  waiting = true;
  tell("keeping");
  clearTimeout(timer);
  timer = window.setTimeout(keep, WAIT_MS);
}

/** @param {boolean} [leaving] */
async function keep(leaving = false) {
  if (busy || !waiting) return;
  busy = true;
  waiting = false;
  let again = 0;
  try {
    revision = (await ask("keep", { revision, state }, leaving)).revision;
    if (waiting) localStorage.setItem(UNSAVED, JSON.stringify({ revision, state }));
    else localStorage.removeItem(UNSAVED);
    tell(waiting ? "keeping" : "kept");
  } catch (error) {
    const status = error instanceof Refused ? error.status : 0;
    waiting = true;
    again = 2000;
    tell(status === 409 ? "elsewhere" : status === 401 ? "old" : "away");
    if (status === 409 || status === 401) again = -1;
  }
  busy = false;
  if (waiting && again >= 0) {
    clearTimeout(timer);
    timer = window.setTimeout(keep, again);
  }
}

/** Begin a new run: machine, crops and language stay. @returns {Promise<void>} */
export async function begin() {
  const { language, units, time_zone, machine, crops, row_units, by_counter, extra, season, bench, seed, plan, farm, farm_id, field, phone, held } = state;
  const next = {
    ...fresh(),
    ...{ language, units, time_zone, machine, crops, row_units, by_counter, extra, bench, seed, plan, farm, farm_id, field, phone, held },
    season: { ...season, note: "" },
  };
  clearTimeout(timer);
  revision = (await ask("new", { revision, state: next })).revision;
  localStorage.removeItem(UNSAVED);
  waiting = false;
  for (const key of Object.keys(state)) delete state[key];
  Object.assign(state, next);
}

window.addEventListener("pagehide", () => keep(true));
document.addEventListener("visibilitychange", () => document.hidden && keep(true));
