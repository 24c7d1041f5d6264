// Draws the map from the JSON block in this page. All text is set as text, never as markup.
(function () {
  "use strict";

  const { data, byId, el, say, unpack, bareMap, allButton, narrow, INK, GREY, UNSURE } = mapPage;
  const BED_M = 1.2; // how wide a pass is drawn when the map is near enough
  const NEAR_PX = 24; // a tap this close to a pass means it
  const LABEL_PX = 26; // labels nearer than this to another are left out

  const unmeasured = (pass) => pass.class === null;
  function colourOf(pass) {
    if (unmeasured(pass)) return "#fff";
    return pass.class === UNSURE ? GREY : data.legend.classes[pass.class].colour;
  }

  const map = bareMap(0.5);

  // Passes -----------------------------------------------------------------------------------

  const passes = data.passes.map((pass) => {
    const places = unpack(pass.line);
    const still = { interactive: false, lineCap: "butt" };
    const casing = L.polyline(places, { ...still, color: INK });
    const fill = L.polyline(places, {
      ...still,
      color: colourOf(pass),
      dashArray: unmeasured(pass) ? "7 7" : null,
    });
    return {
      pass,
      places,
      fill,
      casing,
      layer: L.layerGroup(places.length > 1 ? [casing, fill] : []),
      label: places.length
        ? L.marker(places[0], {
            interactive: false,
            keyboard: false,
            icon: L.divIcon({
              className: "pass-label",
              html: el("span", pass.doubt ? "doubt" : "", pass.doubt ? `${pass.number} !` : String(pass.number)),
              iconSize: [24, 18],
            }),
          })
        : null,
      shown: true,
      checkbox: null,
    };
  });

  const labels = L.layerGroup().addTo(map);

  function metresPerPixel() {
    const middle = map.getCenter();
    const at = map.latLngToContainerPoint(middle);
    return map.distance(middle, map.containerPointToLatLng(at.add([100, 0]))) / 100;
  }

  let chosen = null;

  function restyle() {
    const width = Math.min(14, Math.max(3, (0.6 * BED_M) / metresPerPixel()));
    for (const item of passes) {
      item.fill.setStyle({ weight: width });
      item.casing.setStyle({ weight: width + (item === chosen ? 9 : 2.5) });
    }
    if (chosen && chosen.shown) {
      chosen.casing.bringToFront();
      chosen.fill.bringToFront();
    }
    relabel();
  }

  function relabel() {
    labels.clearLayers();
    const taken = [];
    const doubtedFirst = [...passes].sort((a, b) => b.pass.doubt - a.pass.doubt);
    for (const item of doubtedFirst) {
      if (!item.shown || !item.label) continue;
      const at = map.latLngToContainerPoint(item.places[0]);
      if (taken.some((other) => other.distanceTo(at) < LABEL_PX)) continue;
      taken.push(at);
      labels.addLayer(item.label);
    }
  }

  function show(item, yes) {
    item.shown = yes;
    item.checkbox.checked = yes;
    if (yes) item.layer.addTo(map);
    else item.layer.remove();
    if (!yes && item === chosen) map.closePopup();
  }

  // What is said about a pass ----------------------------------------------------------------

  function details(pass) {
    const box = el("div", "details");
    box.tabIndex = -1;
    box.append(el("h2", "", say("Pass {number}", { number: pass.number })));
    if (pass.doubt) box.append(el("p", "doubt", say("In doubt: see “Look at this” in the list.")));
    const list = el("dl");
    for (const [heading, text] of pass.facts) {
      list.append(el("dt", "", heading), el("dd", "", text));
    }
    box.append(list);
    if (pass.units.length) box.append(unitTable(pass.units));
    return box;
  }

  function unitTable(rows) {
    const used = data.unitHeadings.map((_, column) => rows.some((row) => row[column]));
    const line = (tag, texts) => {
      const tr = el("tr");
      texts.forEach((text, column) => used[column] && tr.append(el(tag, "", text)));
      return tr;
    };
    const head = el("thead");
    head.append(line("th", data.unitHeadings));
    const body = el("tbody");
    body.append(...rows.map((row) => line("td", row)));
    const table = el("table");
    table.append(head, body);
    return table;
  }

  let comeBackTo = null; // where the keyboard was before a popup took it

  function choose(item, where) {
    chosen = item;
    if (!item.shown) show(item, true);
    const content = details(item.pass);
    if (narrow.matches) openPanel(false); // the map needs the room
    map.invalidateSize({ animate: false });
    L.popup({
      maxWidth: 290,
      maxHeight: Math.max(120, map.getSize().y - 70), // scrolls inside where there is more
      minWidth: item.pass.units.length ? 270 : 200,
      autoPanPaddingTopLeft: [64, 12], // clear of the buttons
      autoPanPaddingBottomRight: [narrow.matches ? 8 : 64, 12],
    })
      .setLatLng(where || item.fill.getCenter())
      .setContent(content)
      .openOn(map);
    restyle();
    mark();
    return content;
  }

  function mark() {
    for (const item of passes) item.row.classList.toggle("chosen", item === chosen);
  }

  map.on("popupclose", () => {
    chosen = null;
    restyle();
    mark();
    if (comeBackTo) comeBackTo.focus({ preventScroll: true });
    comeBackTo = null;
  });

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") map.closePopup();
  });

  function nearest(point) {
    let best = null;
    for (const item of passes) {
      if (!item.shown || item.places.length < 2) continue;
      const at = item.fill.closestLayerPoint(point);
      if (at && at.distance < NEAR_PX && (!best || at.distance < best.at.distance)) {
        best = { item, at };
      }
    }
    return best;
  }

  map.on("click", (event) => {
    const found = nearest(event.layerPoint);
    if (found) choose(found.item, map.layerPointToLatLng(L.point(found.at.x, found.at.y)));
  });
  map.on("mousemove", (event) => {
    map.getContainer().classList.toggle("over-pass", nearest(event.layerPoint) !== null);
  });

  // Legend and list --------------------------------------------------------------------------

  byId("legend-title").textContent = data.legend.title;
  function swatchOf(colour, dashed) {
    const swatch = el("span", dashed ? "swatch dashed" : "swatch");
    swatch.style.backgroundColor = colour;
    return swatch;
  }
  function legendEntry(label, colour, dashed) {
    const entry = el("li");
    entry.append(swatchOf(colour, dashed), el("span", "", label));
    byId("legend-classes").append(entry);
  }
  for (const step of data.legend.classes) legendEntry(step.label, step.colour);
  if (passes.some(({ pass }) => pass.class === UNSURE)) legendEntry(data.legend.unsure, GREY);
  if (passes.some(({ pass }) => unmeasured(pass))) legendEntry(say("not measured"), "#fff", true);

  for (const item of passes) {
    const { pass } = item;
    const bed = pass.bed ? say("bed {bed}", { bed: pass.bed }) : "";
    const row = el("li");
    const box = el("input");
    box.type = "checkbox";
    box.checked = true;
    const label = [say("Show pass {number}", { number: pass.number }), bed];
    box.setAttribute("aria-label", label.filter(Boolean).join(", "));
    box.addEventListener("change", () => {
      show(item, box.checked);
      relabel();
    });
    const tick = el("label", "tick");
    tick.append(box);
    const button = el("button", "pass");
    button.type = "button";
    const swatch = swatchOf(colourOf(pass), unmeasured(pass));
    const title = el("span", "name", say("Pass {number}", { number: pass.number }));
    if (pass.doubt) title.append(" ", el("span", "doubt", say("in doubt")));
    if (bed) title.append(el("span", "bed", bed));
    button.append(swatch, title, el("span", "value", pass.value));
    button.addEventListener("click", () => {
      if (!item.places.length) return;
      const content = choose(item);
      comeBackTo = narrow.matches ? panelButton : button;
      content.focus({ preventScroll: true });
    });
    row.append(tick, button);
    byId("passes").append(row);
    item.checkbox = box;
    item.row = row;
  }
  byId("count").textContent = String(passes.length);

  function showAll(yes) {
    for (const item of passes) show(item, yes);
    restyle();
  }
  byId("all").addEventListener("click", () => showAll(true));
  byId("none").addEventListener("click", () => showAll(false));

  const panelButton = byId("panel-button");
  const isOpen = () => panelButton.getAttribute("aria-expanded") === "true";
  panelButton.addEventListener("click", () => openPanel(!isOpen()));
  function openPanel(open) {
    panelButton.setAttribute("aria-expanded", String(open));
    byId("panel").classList.toggle("open", open);
  }

  // Raw fixes, made only when asked for --------------------------------------------------------

  const fixPlaces = unpack(data.fixes);
  let fixes = null;
  const fixesBox = byId("fixes");
  if (!fixPlaces.length) fixesBox.disabled = true;
  if (data.fixesStep > 1) byId("fixes-note").textContent = ` ${say("(1 in {count})", { count: data.fixesStep })}`;
  fixesBox.addEventListener("change", () => {
    if (!fixes) {
      const dot = { interactive: false, radius: 2, stroke: false, fillColor: INK, fillOpacity: 0.7 };
      fixes = L.layerGroup(fixPlaces.map((at) => L.circleMarker(at, dot)));
    }
    if (fixesBox.checked) fixes.addTo(map);
    else fixes.remove();
  });

  // Online background, only when the page was made with it --------------------------------------

  if (data.tiles) {
    const background = L.tileLayer("https://tile.openstreetmap.org/{z}/{x}/{y}.png", {
      maxNativeZoom: 19,
      maxZoom: 23,
      opacity: 0.6,
    }).addTo(map);
    byId("tiles").addEventListener("change", (event) => {
      if (event.target.checked) background.addTo(map);
      else background.remove();
    });
  }

  // Whole field --------------------------------------------------------------------------------

  const drawn = passes.flatMap((item) => item.places);
  const bounds = L.latLngBounds(drawn.length ? drawn : fixPlaces);
  function fit() {
    if (bounds.isValid()) map.fitBounds(bounds, { padding: [34, 34], maxZoom: 21, animate: false });
    else map.setView([0, 0], 2);
  }
  allButton(map, say("The whole field"), say("Show the whole field"), fit);

  fit();
  for (const item of passes) item.layer.addTo(map);
  restyle();
  map.on("zoomend", restyle);
  new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(byId("map"));

  // On paper the map has another shape, so it is fitted again before and after.
  function reshape(printing) {
    document.body.classList.toggle("printing", printing);
    map.closePopup();
    map.invalidateSize({ animate: false });
    fit();
    restyle();
  }
  window.addEventListener("beforeprint", () => reshape(true));
  window.addEventListener("afterprint", () => reshape(false));
  document.body.classList.add("ready");
})();
