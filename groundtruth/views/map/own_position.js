// The reader's own position on a map, where the browser gives it: a button that starts and stops,
// and a line that says what came of it. Maps in files and the page use it; ``words`` are theirs.
// eslint-disable-next-line no-unused-vars
function ownPosition(map, words, metric) {
  "use strict";

  const COLOUR = "#1a4fa0";
  const PATIENCE_MS = 30_000;
  const FAR_M = 2_000;
  const pane = map.createPane("own-position");
  pane.style.zIndex = "450";
  pane.style.pointerEvents = "none";
  const still = { interactive: false, pane: "own-position", renderer: L.svg({ pane: "own-position" }), color: COLOUR };
  let on = false;
  let watch = null;
  let shown = null;
  let button = null;
  let line = null;

  function length(metres) {
    if (metric) return metres < 1000 ? `${Math.round(metres)} m` : `${(metres / 1000).toFixed(1)} km`;
    const feet = metres / 0.3048;
    return feet < 2640 ? `${Math.round(feet)} ft` : `${(feet / 5280).toFixed(1)} mi`;
  }

  function stop(text = "") {
    if (watch !== null) navigator.geolocation.clearWatch(watch);
    on = false;
    watch = null;
    if (shown) shown.remove();
    shown = null;
    button.setAttribute("aria-pressed", "false");
    line.textContent = text;
  }

  function came({ coords }) {
    if (!on) return;
    const at = [coords.latitude, coords.longitude];
    const first = !shown;
    if (shown) shown.remove();
    shown = L.layerGroup([
      L.circle(at, { ...still, radius: coords.accuracy, weight: 1, fillOpacity: 0.12 }),
      L.circleMarker(at, { ...still, radius: 8, color: "#fff", weight: 3, fillColor: COLOUR, fillOpacity: 1 }),
    ]).addTo(map);
    const away = map.distance(at, map.getCenter());
    if (first && away < FAR_M && !map.getBounds().contains(at)) map.panTo(at, { animate: false });
    line.textContent = away < FAR_M ? words.here(length(coords.accuracy)) : words.far(length(away));
  }

  function failed({ code }) {
    if (!on) return;
    if (code === 1) stop(location.origin === "null" || location.protocol === "file:" ? words.file() : words.refused());
    else if (!shown) line.textContent = words.none(); // it may come yet
  }

  function press() {
    if (on) {
      stop();
      return;
    }
    if (!navigator.geolocation) {
      line.textContent = words.file();
      return;
    }
    on = true;
    button.setAttribute("aria-pressed", "true");
    line.textContent = words.looking();
    watch = navigator.geolocation.watchPosition(came, failed, {
      enableHighAccuracy: true,
      maximumAge: 5_000,
      timeout: PATIENCE_MS,
    });
  }

  const Own = L.Control.extend({
    onAdd() {
      const holder = document.createElement("div");
      holder.className = "leaflet-bar own-position";
      button = document.createElement("button");
      button.type = "button";
      button.textContent = words.button();
      button.title = words.label();
      button.setAttribute("aria-label", words.label());
      button.setAttribute("aria-pressed", "false");
      button.addEventListener("click", press);
      line = document.createElement("p");
      line.setAttribute("role", "status");
      L.DomEvent.disableClickPropagation(holder);
      holder.append(button, line);
      return holder;
    },
  });
  new Own({ position: "topleft" }).addTo(map);
  map.on("unload", () => stop());
}
