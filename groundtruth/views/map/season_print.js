// On paper: below the map of the farm each block by itself, its beds with their names and what was
// sown there last, and what is odd. All text is set as text, never as markup.
(function () {
  "use strict";

  const { data, byId, el, say, INK } = mapPage;
  const { beds, blocks, strips, dayShown, colourOf } = seasonPage;
  const WIDE_MM = 186; // of a sheet
  const WAY_MM = 92; // for the beds, lying; what is said of each stands beside it
  const LINE_MM = 3.5; // from one line of text to the next
  const TALLEST_MM = 150;
  const MOST_BEDS = 60; // on one sheet
  const METRES = 111_320; // in a degree of latitude; to a percent, for drawing

  const odd = new Set(data.anomalies.map(([bed]) => bed));

  function svg(tag, attributes, text) {
    const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
    if (text !== undefined) node.textContent = text;
    return node;
  }

  // From degrees to metres along and across the beds, the beds lying from left to right.
  function turned(mine) {
    const [lat0, lon0] = mine[0].places[0];
    const narrowing = Math.cos((lat0 * Math.PI) / 180);
    const flat = ([lat, lon]) => [(lon - lon0) * METRES * narrowing, (lat - lat0) * METRES];
    const corners = mine[0].places.map(flat);
    const sides = corners.map((a, i) => {
      const b = corners[(i + 1) % corners.length];
      return [b[0] - a[0], b[1] - a[1]];
    });
    const long = sides.reduce((a, b) => (Math.hypot(...a) >= Math.hypot(...b) ? a : b));
    const sign = long[0] < 0 ? -1 : 1; // east stays to the right
    const size = Math.hypot(...long) || 1;
    const [x, y] = [(sign * long[0]) / size, (sign * long[1]) / size];
    const place = (at) => {
      const [east, north] = flat(at);
      return [east * x + north * y, east * y - north * x];
    };
    return { place, north: (Math.atan2(y, x) * 180) / Math.PI };
  }

  function lastSown(bed) {
    return bed.strips
      .filter(({ strip }) => dayShown[strip.day])
      .sort((a, b) => a.strip.day - b.strip.day);
  }

  function said(bed) {
    const last = lastSown(bed).at(-1);
    const name = odd.has(bed.index) ? `${bed.name} !` : bed.name;
    if (!last) return [name, say("not sown")];
    const { strip } = last;
    const parts = [data.texts[strip.crop], data.texts[strip.setting], data.days[strip.day]];
    return [name, parts.filter(Boolean).join(", ")];
  }

  function blockSheets(block, index) {
    const all = beds.filter((bed) => bed.block === index);
    const parts = Math.ceil(all.length / MOST_BEDS);
    return Array.from({ length: parts }, (_, i) => {
      const mine = all.slice(i * MOST_BEDS, (i + 1) * MOST_BEDS);
      const part = { block: block.name, part: i + 1, parts };
      return blockSheet(parts > 1 ? say("{block}, part {part} of {parts}", part) : block.name, mine);
    });
  }

  function blockSheet(title, mine) {
    const { place, north } = turned(mine);
    const all = mine.flatMap((bed) => bed.places.map(place));
    const [left, top] = [0, 1].map((axis) => Math.min(...all.map((p) => p[axis])));
    const [right, low] = [0, 1].map((axis) => Math.max(...all.map((p) => p[axis])));
    const scale = Math.min(WAY_MM / (right - left || 1), TALLEST_MM / (low - top || 1));
    const toMm = (at) => place(at).map((v, i) => (v - [left, top][i]) * scale);
    const points = (places) => places.map((p) => toMm(p).map((v) => v.toFixed(2)).join()).join(" ");

    const rows = mine
      .map((bed) => {
        const corners = bed.places.map(toMm);
        const y = corners.reduce((sum, p) => sum + p[1], 0) / corners.length;
        return { bed, y, x: Math.max(...corners.map((p) => p[0])), at: y };
      })
      .sort((a, b) => a.y - b.y);
    // lines of text stand apart, and about where their beds lie
    const spare = Math.max(0, (rows.length - 1) * LINE_MM - (rows.at(-1).y - rows[0].y)) / 2;
    rows.forEach((row, i) => {
      row.at = Math.max(row.y - spare, i ? rows[i - 1].at + LINE_MM : row.y - spare);
    });
    const above = Math.min(0, rows[0].at - LINE_MM);
    const tall = Math.max((low - top) * scale, rows.at(-1).at + LINE_MM) - above;
    const drawing = svg("svg", {
      viewBox: `0 ${above.toFixed(2)} ${WIDE_MM} ${tall.toFixed(2)}`,
      role: "img",
      "aria-label": say("Beds of {block}", { block: title }),
    });
    const thin = { stroke: INK, "stroke-width": 0.15 };
    for (const { bed } of rows) {
      const dashed = { ...thin, fill: "#fff", "stroke-dasharray": "0.8 0.8" };
      drawing.append(svg("polygon", { points: points(bed.places), ...dashed }));
      for (const { strip, shape } of lastSown(bed)) {
        const places = shape.getLatLngs()[0].map(({ lat, lng }) => [lat, lng]);
        drawing.append(svg("polygon", { points: points(places), ...thin, fill: colourOf(strip) }));
      }
    }
    for (const { bed, x, y, at } of rows) {
      const past = (right - left) * scale + 1; // every bed's end
      const bend = WAY_MM + 5;
      const way = `M${x + 0.3} ${y}H${past}L${bend} ${at}H${bend + 1}`;
      drawing.append(svg("path", { d: way, ...thin, fill: "none" }));
      const line = svg("text", { x: bend + 2, y: at + 0.95, class: odd.has(bed.index) ? "odd" : "" });
      const [name, rest] = said(bed);
      line.append(svg("tspan", { "font-weight": 700 }, name), ` ${rest}`);
      drawing.append(line);
    }
    const arrow = svg("g", { transform: `translate(${WIDE_MM - 8} ${above + 6})` });
    arrow.append(
      svg("path", { d: "M0 -4.5L2 3L0 1.6L-2 3Z", transform: `rotate(${north})`, fill: INK }),
      svg("text", { x: 4.6, y: 1 }, say("N")),
    );
    drawing.append(arrow);
    const section = el("section", "block-sheet");
    section.append(el("h2", "", title), drawing);
    return section;
  }

  function oddList() {
    const section = el("section", "odd-list");
    section.append(el("h2", "", say("Look at this")));
    const list = el("ul");
    for (const [, says] of data.anomalies) list.append(el("li", "", says));
    section.append(list);
    return section;
  }

  const sheets = el("div");
  sheets.id = "sheets";
  document.body.append(sheets);
  window.addEventListener("beforeprint", () => {
    const odds = data.anomalies.length ? [oddList()] : [];
    sheets.replaceChildren(...odds, ...blocks.flatMap(blockSheets));
  });
  window.addEventListener("afterprint", () => sheets.replaceChildren());
})();
