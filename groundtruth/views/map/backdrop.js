// Field outlines, paths and buildings of the grower's own behind a map, with their names where
// they fit. All text is set as text, never as markup. Both kinds of maps and the page use it.
// eslint-disable-next-line no-unused-vars
function drawBackdrop(map, shapes) {
  "use strict";

  const LETTER_PX = 7.5;
  const EDGE = "#6f7f5c";
  const PATH = "#8a7a5f";
  const pane = map.createPane("backdrop");
  pane.style.zIndex = "250"; // above pictures, below what is drawn
  pane.style.pointerEvents = "none";
  const renderer = L.canvas({ pane: "backdrop", padding: 0.3 });
  const still = { interactive: false, renderer, pane: "backdrop" };
  const drawn = shapes.map(({ name, area, places }) => ({
    name,
    shape: area
      ? L.polygon(places, { ...still, color: EDGE, weight: 1.5, fillColor: EDGE, fillOpacity: 0.1 })
      : L.polyline(places, { ...still, color: PATH, weight: 2, opacity: 0.7 }),
  }));
  L.layerGroup(drawn.map((one) => one.shape)).addTo(map);

  const labels = L.layerGroup().addTo(map);
  function label(name, at) {
    const span = document.createElement("span");
    span.textContent = name;
    const icon = L.divIcon({ className: "backdrop-name", html: span, iconSize: [0, 0] });
    return L.marker(at, { icon, pane: "backdrop", interactive: false, keyboard: false });
  }

  // The window's part of a shape has room for its name, or it has none.
  function relabel() {
    labels.clearLayers();
    const seen = map.getBounds();
    const taken = [];
    for (const { name, shape } of drawn) {
      const bounds = shape.getBounds();
      if (!name || !bounds.isValid() || !seen.intersects(bounds)) continue;
      const [one, two] = [bounds.getNorthWest(), bounds.getSouthEast()].map((at) => map.latLngToContainerPoint(at));
      const wide = name.length * LETTER_PX;
      if (Math.hypot(two.x - one.x, two.y - one.y) < wide || two.x - one.x < wide / 2) continue;
      const middle = one.add(two).divideBy(2);
      if (taken.some((other) => Math.abs(other.y - middle.y) < 18 && Math.abs(other.x - middle.x) < wide)) continue;
      taken.push(middle);
      labels.addLayer(label(name, map.containerPointToLatLng(middle)));
    }
  }
  if (drawn.some((one) => one.name)) {
    map.on("moveend zoomend resize", relabel);
    map.whenReady(relabel);
  }
}
