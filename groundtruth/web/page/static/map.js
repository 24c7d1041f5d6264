// The map of the passes found. It needs no network: the track is its own background.

import { el } from "./dom.js";
import { session, state } from "./state.js";
import { say } from "./words.js";

const TRACK = "#8b8572", PASS = "#0b5d57", STRUCK = "#b4a99a", CHOSEN = "#b8480b";
/** @type {any} */
let map = null;
/** @type {Map<number, {line: any, struck: boolean}>} */
let lines = new Map();
/** Who wants the places that are tapped, nobody as a rule. @type {((place: [number, number]) => void)|null} */
let wanted = null;
/** @type {any} */
let marks = null;

/** @param {any} into @param {any} found @param {(one: any) => boolean} isStruck */
export function drawMap(into, found, isStruck) {
  const L = /** @type {any} */ (window).L;
  map?.remove();
  wanted = marks = null;
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
  const told = ["button", "label", "looking", "here", "far", "refused", "file", "none"];
  const words = Object.fromEntries(told.map((key) => [key, (length = "") => say(`own.${key}`, { length })]));
  /** @type {any} */ (window).ownPosition(map, words, state.units !== "us");
  /** @type {any} */ (window).drawBackdrop(map, session.backdrop.shapes);
  L.polyline(found.track, { color: TRACK, weight: 1.5, interactive: false }).addTo(map);
  map.on("click", (event) => wanted?.([event.latlng.lat, event.latlng.lng]));
  for (const one of found.all) {
    const struck = isStruck(one);
    const line = L.polyline(one.line, { color: struck ? STRUCK : PASS, weight: 5, dashArray: struck ? "4 8" : null });
    line.addTo(map).on("click", () => {
      if (wanted) return;
      mark(one.number);
      const row = document.getElementById(`pass-${one.number}`);
      row?.scrollIntoView({ block: "nearest" });
      /** @type {any} */ (row?.querySelector("td.typed input"))?.focus();
    });
    const icon = L.divIcon({ className: `pass-number ${struck ? "struck" : one.given ? "given" : ""}`, html: el("span", {}, String(one.number)), iconSize: null });
    L.marker(one.line[0], { icon, interactive: false, keyboard: false, zIndexOffset: struck ? -1000 : 0 }).addTo(map);
    lines.set(one.number, { line, struck });
  }
  const places = found.all.length ? found.all.flatMap((one) => one.line) : found.track;
  map.fitBounds(places, { padding: [24, 24] });
}

/** Hand over the places that are tapped from now on, or none. @param {((place: [number, number]) => void)|null} listener */
export function onTap(listener) {
  wanted = listener;
  if (map) map.getContainer().classList.toggle("tapping", Boolean(listener));
}

/** Show places and a line on top, in place of those shown before. @param {any[]} places @param {any[]} line */
export function showMarks(places, line = []) {
  const L = /** @type {any} */ (window).L;
  marks?.remove();
  const dots = places.map((place) => L.circleMarker(place, { radius: 9, color: CHOSEN, weight: 4, fillOpacity: 0, interactive: false }));
  marks = L.layerGroup([...dots, ...(line.length ? [L.polyline(line, { color: CHOSEN, weight: 8, opacity: 0.8, interactive: false })] : [])]);
  if (map) marks.addTo(map);
}

/** Let one pass stand out. @param {number} number */
export function mark(number) {
  for (const [other, { line, struck }] of lines) {
    const chosen = other === number;
    line.setStyle({ color: chosen ? CHOSEN : struck ? STRUCK : PASS, weight: chosen ? 8 : 5 });
    if (chosen) line.bringToFront();
  }
}

