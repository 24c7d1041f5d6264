// Draws the season from the JSON block in this page. All text is set as text, never as markup.
(function () {
  "use strict";

  const { data, byId, el, unpack, bareMap, narrow, INK, GREY, UNSURE } = mapPage;
  const LABEL_PX = 30; // labels nearer than this to another are left out

  const text = (index) => data.texts[index];
  const map = bareMap(0.3);

  // Beds and strips --------------------------------------------------------------------------

  const still = { interactive: false, lineJoin: "miter" };
  const beds = data.beds.map((bed) => {
    const places = unpack(bed.at);
    return {
      name: text(bed.bed),
      places,
      outline: L.polygon(places, { ...still, color: "#6b7478", weight: 1, dashArray: "4 4",
        fillColor: "#fff", fillOpacity: 0.45 }),
      strips: [],
    };
  });
  const bedByName = new Map(beds.map((bed) => [bed.name, bed]));
  const strips = data.strips.map((strip) => {
    const places = unpack(strip.at);
    const item = {
      strip,
      places,
      shape: L.polygon(places, { ...still, color: INK, weight: 0.6, fillOpacity: 1 }),
    };
    const bed = bedByName.get(text(strip.bed));
    if (bed) bed.strips.push(item);
    return item;
  });
  const order = strips.map((_, i) => i).sort((a, b) => data.strips[a].day - data.strips[b].day);
  const dayShown = data.days.map(() => true);
  let mode = 0;

  function colourOf(strip) {
    const chosen = data.modes.length ? strip.class[mode] : null;
    if (chosen === null) return "#fff";
    return chosen === UNSURE ? GREY : data.modes[mode].classes[chosen].colour;
  }

  function recolour() {
    for (const item of strips) item.shape.options.fillColor = colourOf(item.strip);
    redraw();
    legend();
  }

  const layer = L.layerGroup().addTo(map);
  function redraw() {
    layer.clearLayers();
    for (const bed of beds) layer.addLayer(bed.outline);
    for (const i of order) {
      if (dayShown[strips[i].strip.day]) layer.addLayer(strips[i].shape);
    }
    if (chosen) layer.addLayer(chosen.frame);
  }

  // Names, where there is room -----------------------------------------------------------------

  const labels = L.layerGroup().addTo(map);
  function relabel() {
    labels.clearLayers();
    const taken = [];
    const seen = map.getBounds();
    for (const bed of beds) {
      const at = bed.places[0];
      if (!seen.contains(at)) continue;
      const point = map.latLngToContainerPoint(at);
      if (taken.some((o) => Math.abs(o.x - point.x) < LABEL_PX && Math.abs(o.y - point.y) < 19)) {
        continue;
      }
      taken.push(point);
      labels.addLayer(
        L.marker(at, {
          interactive: false,
          keyboard: false,
          icon: L.divIcon({
            className: "bed-label",
            html: el("span", "", bed.name),
            iconSize: [30, 17],
          }),
        }),
      );
    }
  }

  // Legend -------------------------------------------------------------------------------------

  function legend() {
    const list = byId("legend-classes");
    list.replaceChildren();
    const now = data.modes[mode];
    byId("legend-title").textContent = now ? now.title : "";
    if (!now) return;
    const entry = (label, colour, dashed) => {
      const swatch = el("span", dashed ? "swatch dashed" : "swatch");
      swatch.style.backgroundColor = colour;
      const row = el("li");
      row.append(swatch, el("span", "", label));
      list.append(row);
    };
    const used = new Set(strips.map((item) => item.strip.class[mode]));
    now.classes.forEach((step) => entry(step.label, step.colour));
    if (used.has(UNSURE)) entry("too unsure", GREY);
    if (used.has(null)) entry("not known", "#fff");
    if (beds.some((bed) => !bed.strips.length)) entry("not sown", "#fff", true);
  }

  const select = byId("mode");
  data.modes.forEach((m, i) => {
    const option = el("option", "", m.name);
    option.value = String(i);
    select.append(option);
  });
  select.addEventListener("change", () => {
    mode = Number(select.value);
    recolour();
  });

  // One bed ------------------------------------------------------------------------------------

  let chosen = null;
  let comeBackTo = null;

  function details(bed) {
    const box = el("div", "details");
    box.tabIndex = -1;
    box.append(el("h2", "", `Bed ${bed.name}`));
    if (!bed.strips.length) {
      box.append(el("p", "", "Nothing was sown here."));
      return box;
    }
    const sowings = [...bed.strips].sort((a, b) => b.strip.day - a.strip.day);
    for (const { strip } of sowings) {
      const list = el("dl");
      const facts = [
        ["Sown", data.days[strip.day]],
        ["Crop", text(strip.crop)],
        ["Setting", text(strip.setting)],
        ["Length", text(strip.facts[0])],
        ["Ground per turn", text(strip.facts[1])],
        ["Slip", text(strip.facts[2])],
        ["Sure of the bed", strip.facts[3] < 95 ? `${strip.facts[3]} %` : ""],
      ];
      for (const [heading, said] of facts) {
        if (said) list.append(el("dt", "", heading), el("dd", "", said));
      }
      box.append(list);
      if (sowings.length > 1) box.append(el("hr"));
    }
    return box;
  }

  function choose(bed, where, from) {
    const frame = L.polygon(bed.places, { ...still, color: INK, weight: 4, fill: false });
    chosen = { bed, frame };
    const content = details(bed);
    if (narrow.matches) openPanel(false);
    map.invalidateSize({ animate: false });
    redraw();
    L.popup({
      maxWidth: 290,
      minWidth: 200,
      maxHeight: 300,
      autoPanPaddingTopLeft: [64, 12],
      autoPanPaddingBottomRight: [narrow.matches ? 8 : 64, 12],
    })
      .setLatLng(where)
      .setContent(content)
      .openOn(map);
    comeBackTo = from || null;
    if (from) content.focus({ preventScroll: true });
  }

  map.on("popupclose", () => {
    chosen = null;
    redraw();
    if (comeBackTo) comeBackTo.focus({ preventScroll: true });
    comeBackTo = null;
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") map.closePopup();
  });

  function inside(point, corners) {
    let hit = false;
    for (let i = 0, j = corners.length - 1; i < corners.length; j = i, i += 1) {
      const [a, b] = [corners[i], corners[j]];
      if (a.y > point.y !== b.y > point.y &&
          point.x < ((b.x - a.x) * (point.y - a.y)) / (b.y - a.y) + a.x) {
        hit = !hit;
      }
    }
    return hit;
  }
  const onScreen = (places) => places.map((p) => map.latLngToLayerPoint(p));
  const middle = (corners) => corners.reduce((a, b) => a.add(b)).divideBy(corners.length);

  function bedAt(point) {
    let best = null;
    let least = 24; // a tap this near means it
    for (const bed of beds) {
      const corners = onScreen(bed.places);
      if (inside(point, corners)) return bed;
      const away = Math.min(
        ...corners.map((c, i) =>
          L.LineUtil.pointToSegmentDistance(point, c, corners[(i + 1) % corners.length]),
        ),
      );
      if (away < least) [best, least] = [bed, away];
    }
    return best;
  }
  map.on("click", (event) => {
    const bed = bedAt(event.layerPoint);
    if (bed) choose(bed, event.latlng);
  });

  // Finding a bed ------------------------------------------------------------------------------

  const names = [...new Set(beds.map((bed) => bed.name))];
  names.forEach((name) => {
    const option = el("option");
    option.value = name;
    byId("bed-names").append(option);
  });
  function find(wanted, from) {
    const low = wanted.trim().toLowerCase();
    if (!low) return;
    const hits = beds.filter((bed) => bed.name.toLowerCase().includes(low));
    const bed = hits.find((b) => b.name.toLowerCase() === low) || (hits.length === 1 && hits[0]);
    if (!bed) {
      byId("found").textContent = hits.length
        ? `${hits.length} beds: ${hits.slice(0, 8).map((b) => b.name).join(", ")}` +
          (hits.length > 8 ? " …" : "")
        : "No bed of that name.";
      return;
    }
    byId("found").textContent = `Bed ${bed.name}`;
    if (narrow.matches) openPanel(false);
    map.invalidateSize({ animate: false });
    map.fitBounds(L.latLngBounds(bed.places), { padding: [90, 90], maxZoom: 20, animate: false });
    choose(bed, map.layerPointToLatLng(middle(onScreen(bed.places))), from);
  }
  byId("search").addEventListener("submit", (event) => {
    event.preventDefault();
    find(byId("find").value, narrow.matches ? byId("panel-button") : byId("find"));
  });

  // Days ---------------------------------------------------------------------------------------

  const boxes = data.days.map((day, i) => {
    const box = el("input");
    box.type = "checkbox";
    box.checked = true;
    const count = strips.filter((item) => item.strip.day === i).length;
    const label = el("label");
    label.append(box, el("span", "", day), el("span", "many", String(count)));
    const row = el("li");
    row.append(label);
    byId("days").append(row);
    box.addEventListener("change", () => {
      dayShown[i] = box.checked;
      redraw();
    });
    return box;
  });
  function allDays(yes) {
    boxes.forEach((box, i) => {
      box.checked = yes;
      dayShown[i] = yes;
    });
    redraw();
  }
  byId("all").addEventListener("click", () => allDays(true));
  byId("none").addEventListener("click", () => allDays(false));

  // What to look at ----------------------------------------------------------------------------

  if (data.odd.length) {
    byId("odd").append(el("h2", "", "Look at this"));
    for (const [bed, says] of data.odd) {
      const button = el("button", "", says[0].toUpperCase() + says.slice(1));
      button.type = "button";
      button.addEventListener("click", () => find(text(bed), button));
      byId("odd").append(button);
    }
  }

  const panelButton = byId("panel-button");
  panelButton.addEventListener("click", () =>
    openPanel(panelButton.getAttribute("aria-expanded") !== "true"),
  );
  function openPanel(open) {
    panelButton.setAttribute("aria-expanded", String(open));
    byId("panel").classList.toggle("open", open);
  }

  // The whole farm -----------------------------------------------------------------------------

  const corners = [...beds, ...strips].flatMap((item) => item.places);
  const bounds = corners.length ? L.latLngBounds(corners) : null;
  function fit() {
    const room = { paddingTopLeft: [64, 34], paddingBottomRight: [34, 34] }; // clear of the buttons
    if (bounds) map.fitBounds(bounds, { ...room, maxZoom: 21, animate: false });
    else map.setView([0, 0], 2);
  }
  const Whole = L.Control.extend({
    onAdd() {
      const holder = el("div", "leaflet-bar");
      const button = el("button", "whole", "All");
      button.type = "button";
      button.title = "The whole farm";
      button.setAttribute("aria-label", "Show the whole farm");
      L.DomEvent.disableClickPropagation(holder);
      button.addEventListener("click", fit);
      holder.append(button);
      return holder;
    },
  });
  new Whole({ position: "topleft" }).addTo(map);

  fit();
  recolour();
  relabel();
  map.on("moveend zoomend", relabel);

  // From afar the edges of narrow strips would hide their colours.
  let edged = null;
  function edge() {
    const at = map.getSize().divideBy(2);
    const metres = map.distance(
      map.containerPointToLatLng(at),
      map.containerPointToLatLng(at.add([100, 0])),
    );
    const near = metres < 40;
    if (near === edged) return;
    edged = near;
    for (const item of strips) item.shape.options.stroke = near;
    for (const bed of beds) bed.outline.options.stroke = near;
    redraw();
  }
  map.on("zoomend", edge);
  edge();
  new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(byId("map"));

  function reshape(printing) {
    document.body.classList.toggle("printing", printing);
    map.closePopup();
    map.invalidateSize({ animate: false });
    fit();
    relabel();
  }
  window.addEventListener("beforeprint", () => reshape(true));
  window.addEventListener("afterprint", () => reshape(false));
  document.body.classList.add("ready");
})();
