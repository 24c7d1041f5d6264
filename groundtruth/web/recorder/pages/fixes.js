// Fixes as the browser hands them over, and what is known to go wrong with them.

/** From 1970 to 2001-01-01, the epoch of Apple's clocks, which Safari has handed on. [ms] */
export const FROM_2001_MS = 978_307_200_000;
const DAY_MS = 86_400_000;
/** A first fix so much older than the recording is one that the phone still had in mind. [ms] */
const OLD_MS = 2_000;

/**
 * A position as it is kept: ms, degrees, m, m/s, m.
 * @typedef {{time: number, received: number, latitude: number, longitude: number,
 *   accuracy: number|null, speed: number|null, height: number|null}} Fix
 */

/** The time of a fix since 1970, and whether it was counted from 2001. [ms] */
export function timeOf(timestamp, received) {
  const from2001 = timestamp + FROM_2001_MS;
  if (Math.abs(received - timestamp) > DAY_MS && Math.abs(received - from2001) < DAY_MS) {
    return { time: from2001, from2001: true };
  }
  return { time: timestamp, from2001: false };
}

/** The fix of a `GeolocationPosition`, or why it is left out: "old" or "again".
 *
 * `begun` is when listening began, for the first position, `last` the fix before.
 * @param {GeolocationPosition} position
 * @param {number} received
 * @param {{begun: number, last: Fix|null}} known
 * @returns {{fix: Fix, from2001: boolean, left?: undefined} | {left: "old"|"again"}}
 */
export function fixOf(position, received, { begun, last }) {
  const { time, from2001 } = timeOf(position.timestamp, received);
  if (time < begun - OLD_MS) return { left: "old" };
  if (last && last.time === time) return { left: "again" };
  const { latitude, longitude, accuracy, speed, altitude } = position.coords;
  return {
    from2001,
    fix: {
      time,
      received,
      latitude,
      longitude,
      accuracy: number(accuracy),
      speed: number(speed),
      height: number(altitude),
    },
  };
}

function number(value) {
  return typeof value === "number" && Number.isFinite(value) ? value : null;
}

/**
 * Metres between two fixes on a sphere, good to half a percent.
 * @param {Fix} a @param {Fix} b
 */
export function metres(a, b) {
  const rad = Math.PI / 180;
  const east = (b.longitude - a.longitude) * rad * Math.cos(((a.latitude + b.latitude) / 2) * rad);
  return 6_371_000 * Math.hypot(east, (b.latitude - a.latitude) * rad);
}

/** From here on the seeder is under way: slower than sowing, faster than a phone at rest seems.
 * Common practice, no source. [m/s] */
const MOVING_M_S = 0.5;
/** Where no speed comes along, it is taken over so long, over which noise averages out. [ms] */
const OVER_MS = 4_000;

/** Whether the phone moves, from the last fixes. One slow fix says standing, two fast ones moving,
 * so that a single leap does not lock the page. */
export class Motion {
  moving = false;
  /** @type {number|null} */
  speed = null;
  #fast = 0;
  /** @type {Fix[]} */
  #recent = [];

  /** @param {Fix} fix */
  add(fix) {
    this.#recent = this.#recent.filter((one) => fix.time - one.time <= OVER_MS);
    this.#recent.push(fix);
    this.speed = fix.speed ?? this.#between();
    if (this.speed === null) return;
    this.#fast = this.speed >= MOVING_M_S ? this.#fast + 1 : 0;
    this.moving = this.#fast >= 2;
  }

  #between() {
    const first = this.#recent[0];
    const last = this.#recent[this.#recent.length - 1];
    const seconds = (last.time - first.time) / 1000;
    return seconds >= 2 ? metres(first, last) / seconds : null;
  }
}
