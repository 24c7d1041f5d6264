// A day of recording: its positions, passes and notes, each kept at once.
import { falls, readings } from "./counters.js";
import { fixOf, metres, Motion } from "./fixes.js";
import { finished } from "./files.js";

/**
 * @typedef {import("./fixes.js").Fix} Fix
 * @typedef {{id: number, begun: number, ended: number|null, exported: number|null, zone: string,
 *   setup: any, handed?: string[], from2001?: boolean, leftOld?: number, leftAgain?: number}} Day
 * @typedef {Record<string, string>} Readings by unit
 * @typedef {{id: number, day: number, begun: number, start: Readings, ended: number|null,
 *   end: Readings|null, bed: string, setting: string, crop: string, note: string, reset: boolean,
 *   struck: boolean}} Pass
 * @typedef {{id: number, day: number, pass: number|null, time: number, text: string}} Note
 */

/** What holds of a day that has changed since its files were handed over. */
const CHANGED = { exported: null, handed: [] };
const WATCH = { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 };

export class Recorder {
  /** @type {Day|null} */
  day = null;
  /** @type {Pass[]} */
  passes = [];
  /** @type {Note[]} */
  notes = [];
  count = 0;
  /** @type {Fix|null} */
  last = null;
  /** @type {"denied"|"unavailable"|null} */
  trouble = null;
  motion = new Motion();
  covered = 0; // metres since the pass began
  #watch = 0;
  #begun = 0;
  #first = false; // whether the next position is the first since listening began

  /** `told` is called when something has changed; `failed` with an error of keeping. */
  constructor(store, told, failed) {
    this.store = store;
    this.told = told;
    this.failed = failed;
  }

  /** Go on with a day that was not ended, if there is one: the seconds without a position. */
  async resume() {
    const day = (await this.store.days()).filter((one) => !one.ended).at(-1);
    if (!day) return null;
    await this.#take(day);
    this.#listen();
    return this.last ? (Date.now() - this.last.received) / 1000 : 0;
  }

  async begin(setup) {
    const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const day = { begun: Date.now(), ended: null, exported: null, zone, setup };
    await this.#take(await this.store.put("days", day));
    this.#listen();
  }

  /** Take up a day that was ended too early. */
  async reopen(day) {
    await this.#take(await this.store.put("days", { ...day, ended: null }));
    this.#listen();
  }

  async end() {
    navigator.geolocation?.clearWatch(this.#watch);
    await this.#change({ ended: Date.now() });
    this.day = null;
    this.told();
  }

  async newSetup(setup) {
    if (this.day && setup.unitNames.length) await this.#change({ setup });
  }

  get open() {
    return this.passes.find((pass) => !pass.end && !pass.struck) ?? null;
  }

  get done() {
    return finished(this.passes);
  }

  get units() {
    return this.open ? Object.keys(this.open.start) : this.day?.setup.unitNames;
  }

  /** The readings below which a counter cannot stand now. */
  before(reset = false) {
    if (this.open) return this.open.start;
    return reset ? {} : (this.done.at(-1)?.end ?? {});
  }

  async beginPass(at, typed, more) {
    const start = readings(this.units, typed);
    const pass = { day: this.day?.id, begun: at, start, end: null, ended: null, ...more };
    this.covered = 0;
    this.passes = [...this.passes, await this.store.put("passes", pass)];
    await this.#touched();
  }

  async endPass(at, typed) {
    const { open } = this;
    if (!open) return;
    await this.changePass({ ...open, ended: at, end: readings(Object.keys(open.start), typed) });
  }

  /** Keep a pass that was changed; the first unit whose readings would fall, where they would. */
  async changePass(changed) {
    const passes = this.passes.map((pass) => (pass.id === changed.id ? changed : pass));
    const fault = falling(passes);
    if (fault) return fault;
    await this.store.put("passes", changed);
    this.passes = passes;
    await this.#touched();
    return null;
  }

  async addNote(time, text) {
    const pass = this.open?.id ?? null;
    const note = await this.store.put("notes", { day: this.day?.id, pass, time, text });
    this.notes = [...this.notes, note];
    await this.#touched();
    return note;
  }

  /**
   * Note which files went out. The day counts as exported once both halves of it are out: the
   * track and, if any, the turns.
   * @param {string[]} names
   */
  async handedOver(names) {
    const handed = [...new Set([...(this.day?.handed ?? []), ...names])];
    const track = handed.some((name) => /-track\.(csv|gpx)$/.test(name));
    const turns = !this.done.length || handed.some((name) => name.endsWith("-turns.csv"));
    await this.#change(track && turns ? { handed, exported: Date.now() } : { handed });
  }

  async #take(day) {
    this.day = day;
    this.passes = await this.store.of("passes", day.id);
    this.notes = await this.store.of("notes", day.id);
    this.count = await this.store.count("fixes", day.id);
    this.last = (await this.store.lastFix(day.id)) ?? null;
    this.motion = new Motion();
    this.covered = 0;
    this.trouble = null;
    const { open } = this;
    if (open) {
      const fixes = await this.store.of("fixes", day.id);
      const since = fixes.filter((fix) => fix.time >= open.begun);
      since.forEach((fix, i) => (this.covered += i ? this.#step(since[i - 1], fix) : 0));
    }
    this.told();
  }

  /** @param {Partial<Day>} values */
  async #change(values) {
    if (!this.day) return;
    this.day = { ...this.day, ...values }; // before it is kept, lest a change meanwhile be undone
    await this.store.put("days", this.day);
  }

  async #touched() {
    await this.#change(CHANGED);
    this.told();
  }

  #listen() {
    this.#begun = Date.now();
    this.#first = true;
    if (!navigator.geolocation) {
      this.trouble = "denied";
      return;
    }
    navigator.geolocation.clearWatch(this.#watch);
    this.#watch = navigator.geolocation.watchPosition(
      (position) => this.#heard(position, Date.now()),
      (error) => {
        if (error.code !== error.TIMEOUT) {
          this.trouble = error.code === error.PERMISSION_DENIED ? "denied" : "unavailable";
          this.told();
        }
      },
      WATCH,
    );
  }

  /** Listen anew, as when the page comes to the front again. */
  again() {
    if (this.day) this.#listen();
  }

  /** @param {GeolocationPosition} position @param {number} received */
  async #heard(position, received) {
    const { day } = this;
    if (!day) return;
    const begun = this.#first ? this.#begun : -Infinity;
    const heard = fixOf(position, received, { begun, last: this.last });
    this.#first = false;
    try {
      if (heard.left) {
        const name = heard.left === "old" ? "leftOld" : "leftAgain";
        await this.#change({ [name]: (day[name] ?? 0) + 1 });
        return;
      }
      const { fix, from2001 } = heard;
      if (this.open && this.last) this.covered += this.#step(this.last, fix);
      this.last = fix;
      this.trouble = null;
      this.motion.add(fix);
      this.count += 1;
      this.told();
      await this.store.put("fixes", { ...fix, day: day.id });
      if ((from2001 && !day.from2001) || this.day?.exported) {
        await this.#change({ from2001: from2001 || day.from2001, ...CHANGED });
      }
    } catch (error) {
      this.failed(error);
    }
  }

  /**
   * Metres from fix to fix while the seeder goes; a phone at rest wanders, and that is no way.
   * @param {Fix} before @param {Fix} fix
   */
  #step(before, fix) {
    return fix.speed !== null && fix.speed < 0.3 ? 0 : metres(before, fix);
  }
}

/**
 * The first unit whose readings fall along the day, or within a pass.
 * @param {Pass[]} passes
 */
export function falling(passes) {
  /** @type {Readings} */
  let before = {};
  for (const pass of passes.slice().sort((a, b) => a.begun - b.begun)) {
    if (pass.reset) before = {};
    if (pass.struck) continue;
    for (const readings of [pass.start, pass.end ?? {}]) {
      for (const [unit, after] of Object.entries(readings)) {
        if (before[unit] !== undefined && falls(before[unit], after)) {
          return { unit, before: before[unit], after };
        }
      }
      before = { ...before, ...readings };
    }
  }
  return null;
}
