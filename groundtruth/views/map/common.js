// What both map pages start from: the data block, small helpers, and the bare map with its controls.
// All text is set as text, never as markup.
const mapPage = (function () {
  "use strict";

  /** @type {(id: string) => any} */
  const byId = (id) => document.getElementById(id);

  const data = JSON.parse(byId("map-data").textContent);

  /** The text in the page's language, with its {fields} filled in. @param {string} text */
  function say(text, fields = {}) {
    return (data.words[text] || text).replace(/\{(\w+)\}/g, (_, name) => String(fields[name]));
  }

  /** The form for a count. @param {number} count @param {string} one @param {string} more */
  const many = (count, one, more) => say(count === 1 ? one : more, { count });

  function el(tag, className, text) {
    const element = document.createElement(tag);
    if (className) element.className = className;
    if (text !== undefined) element.textContent = text;
    return element;
  }

  // Steps of 1e-7 degree, longitude and latitude in turn, to [latitude, longitude].
  function unpack(steps) {
    let lon = data.origin[0];
    let lat = data.origin[1];
    const places = [];
    for (let i = 0; i < steps.length; i += 2) {
      lon += steps[i];
      lat += steps[i + 1];
      places.push([lat / 1e7, lon / 1e7]);
    }
    return places;
  }

  const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;

  // ``padding`` is how far beyond the window the canvas is drawn, as a share of it.
  function bareMap(padding) {
    const map = L.map("map", {
      attributionControl: false,
      renderer: L.canvas({ padding }),
      zoomSnap: 0.25,
      minZoom: 2,
      maxZoom: 23,
      zoomAnimation: !calm,
      fadeAnimation: !calm,
      zoomControl: false,
    });
    L.control
      .zoom({ position: "topleft", zoomInTitle: say("Nearer"), zoomOutTitle: say("Farther") })
      .addTo(map);
    L.control
      .scale({ metric: data.metric, imperial: !data.metric, maxWidth: 150, position: "bottomleft" })
      .addTo(map);
    drawBackdrop(map, data.backdrop.map((one) => ({ ...one, places: unpack(one.at) })));
    meButton(map);
    return map;
  }

  // The button that shows where the reader is.
  function meButton(map) {
    const words = {
      button: () => say("Me"),
      label: () => say("Show my position"),
      looking: () => say("Looking for your position …"),
      here: (length) => say("You are here, to within {length}.", { length }),
      far: (length) => say("You are {length} from here.", { length }),
      refused: () => say("Your browser refuses the position; allow it for this page."),
      file: () => say("A map opened as a file gets no position in most browsers; the page’s own map does."),
      none: () => say("No position comes; go outdoors, or switch positions on for this device."),
    };
    ownPosition(map, words, data.metric);
  }

  // The button that shows all again, which ``title`` and ``label`` name.
  function allButton(map, title, label, fit) {
    const Whole = L.Control.extend({
      onAdd() {
        const holder = el("div", "leaflet-bar");
        const button = el("button", "whole", say("All"));
        button.type = "button";
        button.title = title;
        button.setAttribute("aria-label", label);
        L.DomEvent.disableClickPropagation(holder);
        button.addEventListener("click", fit);
        holder.append(button);
        return holder;
      },
    });
    new Whole({ position: "topleft" }).addTo(map);
  }

  return {
    data,
    byId,
    el,
    say,
    many,
    unpack,
    bareMap,
    allButton,
    narrow: window.matchMedia("(max-width: 700px)"),
    INK: "#17262b",
    GREY: "#b4babb",
    UNSURE: -1,
  };
})();
