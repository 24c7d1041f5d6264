// Draws the season from the JSON block in this page. All text is set as text, never as markup.
const seasonPage = (function () {
  "use strict";

  const { data, byId, el, say, unpack, bareMap, allButton, narrow, INK, GREY, UNSURE } = mapPage;
  const BLANK = "#d6d1c1"; // not known: a little darker than the ground
  const WHOLE = 0.95; // a later strip of at least this share of an earlier one's length hides it
  const LABEL_PX = 30; // labels nearer than this to another are left out

  const text = (index) => data.texts[index];
  const map = bareMap(0.3);

  // Beds and strips --------------------------------------------------------------------------

  // corners of narrow strips must not be simplified away
  const still = { interactive: false, lineJoin: "miter", smoothFactor: 0 };
  const beds = data.beds.map((bed, index) => {
    const places = unpack(bed.at);
    return {
      index,
      name: text(bed.name),
      block: bed.block,
      places,
      outline: L.polygon(places, { ...still, color: "#6b7478", weight: 1, dashArray: "4 4",
        fillColor: "#fff", fillOpacity: 0.45 }),
      strips: [],
    };
  });
  const blocks = data.blocks.map((name, i) => {
    const mine = beds.filter((bed) => bed.block === i);
    return { name: text(name), bounds: L.latLngBounds(mine.flatMap((bed) => bed.places)) };
  });
  const strips = data.strips.map((strip) => {
    const places = unpack(strip.at);
    const item = {
      strip,
      length: map.distance(places[1], places[2]),
      parts: [],
      shape: L.polygon(places, { ...still, color: INK, weight: 0.6, fillOpacity: 1 }),
    };
    beds[strip.bed].strips.push(item);
    return item;
  });
  // Parts of passes whose turns were timed: drawn over their strips in a mode of their own.
  for (const part of data.parts) {
    const item = strips[part.strip];
    item.parts.push({
      part,
      shape: L.polygon(unpack(part.at), { ...still, stroke: false, fillOpacity: 1 }),
    });
  }
  const along = () => data.modes.length > 0 && data.modes[mode].key === "along";
  const order = strips.map((_, i) => i).sort((a, b) => data.strips[a].day - data.strips[b].day);
  const dayShown = data.days.map(() => true);
  let mode = 0;

  function colourOf(strip) {
    const chosen = data.modes.length ? strip.class[mode] : null;
    if (chosen === null) return BLANK;
    return chosen === UNSURE ? GREY : data.modes[mode].classes[chosen].colour;
  }

  function recolour() {
    for (const item of strips) item.shape.options.fillColor = colourOf(item.strip);
    if (along()) {
      for (const { part, shape } of strips.flatMap((item) => item.parts)) {
        shape.options.fillColor =
          part.class === UNSURE ? GREY : data.modes[mode].classes[part.class].colour;
      }
    }
    redraw();
    legend();
  }

  const layer = L.layerGroup().addTo(map);
  function redraw() {
    layer.clearLayers();
    for (const bed of beds) layer.addLayer(bed.outline);
    // seen through one another the edges of narrow strips would mix their colours
    const longest = new Map();
    const seen = [];
    for (const i of [...order].reverse()) {
      const { strip, length } = strips[i];
      if (!dayShown[strip.day] || length * WHOLE <= (longest.get(strip.bed) || 0)) continue;
      longest.set(strip.bed, Math.max(length, longest.get(strip.bed) || 0));
      seen.push(strips[i]);
    }
    for (const item of seen.reverse()) {
      layer.addLayer(item.shape);
      if (along()) for (const { shape } of item.parts) layer.addLayer(shape);
    }
    if (chosen) layer.addLayer(chosen.frame);
  }

  // Names, where there is room -----------------------------------------------------------------

  const labels = L.layerGroup().addTo(map);
  const tight = () => ({ padding: narrow.matches ? [24, 40] : [70, 50] });
  const isFar = (block) =>
    map.getZoom() <
    map.getBoundsZoom(block.bounds, false, L.point(tight().padding).multiplyBy(2)) - 0.5;
  function goTo(block) {
    map.fitBounds(block.bounds, { ...tight(), maxZoom: 21, animate: false });
  }

  function relabel() {
    labels.clearLayers();
    const taken = [];
    const seen = map.getBounds();
    const free = (point, wide) => {
      if (taken.some((o) => Math.abs(o.x - point.x) < wide && Math.abs(o.y - point.y) < 19)) {
        return false;
      }
      taken.push(point);
      return true;
    };
    const far = blocks.map((block) => blocks.length > 1 && isFar(block));
    blocks.forEach((block, i) => {
      if (!far[i] || !seen.intersects(block.bounds)) return;
      const at = L.latLng(block.bounds.getSouth(), block.bounds.getCenter().lng);
      if (!free(map.latLngToContainerPoint(at), 90)) return;
      const name = L.marker(at, {
        title: say("Show {block}", { block: block.name }),
        icon: L.divIcon({
          className: "bed-label block-label",
          html: el("span", "", block.name),
          iconSize: [120, 44],
          iconAnchor: [60, 4],
        }),
      });
      name.on("click", () => goTo(block));
      labels.addLayer(name);
    });
    for (const bed of beds) {
      const at = bed.places[0];
      if (far[bed.block] || !seen.contains(at)) continue;
      if (!free(map.latLngToContainerPoint(at), LABEL_PX)) continue;
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
    const classes = ({ strip, parts }) =>
      along() && parts.length ? parts.map((s) => s.part.class) : [strip.class[mode]];
    const used = new Set(strips.flatMap(classes));
    now.classes.forEach((step) => entry(step.label, step.colour));
    if (used.has(UNSURE)) entry(say("too unsure"), GREY);
    if (used.has(null)) entry(say("not known"), BLANK);
    if (beds.some((bed) => !bed.strips.length)) entry(say("not sown"), "#fff", true);
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
    box.append(el("h2", "", say("Bed {bed}", { bed: bed.name })));
    const beside = el("div", "beside");
    for (const [other, sign] of [[beds[bed.index - 1], "‹"], [beds[bed.index + 1], "›"]]) {
      if (!other || other.block !== bed.block) continue;
      const button = el("button", "", sign === "‹" ? `‹ ${other.name}` : `${other.name} ›`);
      button.type = "button";
      button.addEventListener("click", () => {
        choose(other, L.latLngBounds(other.places).getCenter(), comeBackTo);
      });
      beside.append(button);
    }
    if (beside.childElementCount) box.append(beside);
    if (!bed.strips.length) {
      box.append(el("p", "", say("Nothing was sown here.")));
      return box;
    }
    const sowings = [...bed.strips].sort((a, b) => b.strip.day - a.strip.day);
    for (const { strip, parts } of sowings) {
      const list = el("dl");
      const facts = [
        [say("Sown"), data.days[strip.day]],
        [say("Crop"), text(strip.crop)],
        [say("Setting"), text(strip.setting)],
        [say("Length"), text(strip.facts[0])],
        [say("Ground per turn"), text(strip.facts[1])],
        [say("Slip"), text(strip.facts[2])],
        [say("Slip along, from its start"), parts.map((s) => text(s.part.says)).join(", ") +
          (parts.length ? " %" : "")],
        [say("Sure of the bed"), strip.facts[3]],
        [say("Seeder"), strip.facts.length > 4 ? text(strip.facts[4]) : ""],
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
    const back = from || null;
    comeBackTo = null;
    map.closePopup();
    const frame = L.polygon(bed.places, { ...still, color: INK, weight: 3, fill: false });
    chosen = { bed, frame };
    const content = details(bed);
    if (narrow.matches) openPanel(false);
    map.invalidateSize({ animate: false });
    redraw();
    L.popup({
      maxWidth: 290,
      minWidth: 200,
      maxHeight: narrow.matches ? 230 : 300,
      autoPanPaddingTopLeft: [64, 12],
      autoPanPaddingBottomRight: [narrow.matches ? 8 : 64, 12],
    })
      .setLatLng(where)
      .setContent(content)
      .openOn(map);
    comeBackTo = back;
    if (back) content.focus({ preventScroll: true });
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
    if (!bed) return;
    // a finger cannot mean one bed of a block that is as small as itself
    if (blocks.length > 1 && isFar(blocks[bed.block])) goTo(blocks[bed.block]);
    else choose(bed, event.latlng);
  });

  function show(bed, from) {
    if (narrow.matches) openPanel(false);
    map.invalidateSize({ animate: false });
    const padding = narrow.matches ? [30, 60] : [90, 90];
    map.fitBounds(L.latLngBounds(bed.places), { padding, maxZoom: 20, animate: false });
    choose(bed, L.latLngBounds(bed.places).getCenter(), from);
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
  allButton(map, say("The whole farm"), say("Show the whole farm"), fit);

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

  // What is in view is printed, the whole farm or one block.
  let inView = null;
  function reshape(printing) {
    if (printing) inView = map.getBounds();
    document.body.classList.toggle("printing", printing);
    map.closePopup();
    map.invalidateSize({ animate: false });
    const all = bounds && inView.contains(bounds);
    if (all) fit();
    else map.fitBounds(inView, { animate: false });
    relabel();
  }
  window.addEventListener("beforeprint", () => reshape(true));
  window.addEventListener("afterprint", () => reshape(false));
  return { beds, blocks, strips, colourOf, dayShown, redraw, show, panelButton };
})();
