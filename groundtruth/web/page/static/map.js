// The map of the passes found. It needs no network: the track is its own background.

import { el } from "./dom.js";
import { state } from "./state.js";
import { say } from "./words.js";

const TRACK = "#8b8572", PASS = "#0b5d57", STRUCK = "#b4a99a", CHOSEN = "#b8480b";
/** @type {any} */
let map = null;
/** @type {Map<number, {line: any, struck: boolean}>} */
let lines = new Map();

/** @param {any} into @param {any} found @param {(one: any) => boolean} isStruck */
export function drawMap(into, found, isStruck) {
  const L = /** @type {any} */ (window).L;
  map?.remove();
  lines = new Map();
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  map = L.map(into, {
    attributionControl: false,
    zoomControl: false,
    zoomSnap: 0.25,
    maxZoom: 23,
    zoomAnimation: !calm,
    fadeAnimation: !calm,
    scrollWheelZoom: false,
    renderer: L.canvas({ padding: 0.3 }),
  });
  L.control.zoom({ position: "topleft", zoomInTitle: say("map.nearer"), zoomOutTitle: say("map.farther") }).addTo(map);
  L.control.scale({ metric: state.units !== "us", imperial: state.units === "us" }).addTo(map);
  L.polyline(found.track, { color: TRACK, weight: 1.5, interactive: false }).addTo(map);
  for (const one of found.passes) {
    const struck = isStruck(one);
    const line = L.polyline(one.line, { color: struck ? STRUCK : PASS, weight: 5, dashArray: struck ? "4 8" : null });
    line.addTo(map).on("click", () => {
      mark(one.number);
      const row = document.getElementById(`pass-${one.number}`);
      row?.scrollIntoView({ block: "nearest" });
      /** @type {any} */ (row?.querySelector("td.typed input"))?.focus();
    });
    const icon = L.divIcon({ className: struck ? "pass-number struck" : "pass-number", html: el("span", {}, String(one.number)), iconSize: null });
    L.marker(one.line[0], { icon, interactive: false, keyboard: false }).addTo(map);
    lines.set(one.number, { line, struck });
  }
  const places = found.passes.length ? found.passes.flatMap((one) => one.line) : found.track;
  map.fitBounds(places, { padding: [24, 24] });
}

/** Let one pass stand out. @param {number} number */
export function mark(number) {
  for (const [other, { line, struck }] of lines) {
    const chosen = other === number;
    line.setStyle({ color: chosen ? CHOSEN : struck ? STRUCK : PASS, weight: chosen ? 8 : 5 });
    if (chosen) line.bringToFront();
  }
}

