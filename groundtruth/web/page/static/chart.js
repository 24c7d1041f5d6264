// The season's chart, drawn: ground per turn by run, with limits, and what stands out.

import { ground, groundUnit, number } from "./figures.js";
import { say } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
const WIDTH = 640, HEIGHT = 300, LEFT = 64, RIGHT = 16, TOP = 16, BOTTOM = 56;

/** @param {string} tag @param {Record<string, any>} set @param {...any} children */
function svg(tag, set, ...children) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(set)) made.setAttribute(name, String(value));
  made.append(...children);
  return made;
}

/** @param {any[]} points */
export function drawChart(points) {
  const every = points.flatMap((p) => [...p.sure_m, p.low_m, p.high_m]).filter((v) => v !== null && v !== undefined);
  const low = Math.min(...every), high = Math.max(...every), span = high - low || high * 0.01;
  const x = (at) => LEFT + ((WIDTH - LEFT - RIGHT) * (at + 0.5)) / points.length;
  const y = (value) => TOP + ((HEIGHT - TOP - BOTTOM) * (high + 0.05 * span - value)) / (1.1 * span);
  const unit = groundUnit();
  const drawn = [];
  for (let i = 0; i <= 4; i += 1) {
    const value = low + (span * i) / 4;
    drawn.push(
      svg("line", { class: "grid", x1: LEFT, x2: WIDTH - RIGHT, y1: y(value), y2: y(value) }),
      svg("text", { class: "axis", x: LEFT - 8, y: y(value) + 5, "text-anchor": "end" }, number(value / unit.metres, span / unit.metres < 2 ? 2 : 1)),
    );
  }
  const half = (x(1) - x(0) || 40) / 2;
  points.forEach((p, at) => {
    const line = (cls, value) => value !== null && drawn.push(svg("line", { class: cls, x1: x(at) - half, x2: x(at) + half, y1: y(value), y2: y(value) }));
    line("limit", p.low_m);
    line("limit", p.high_m);
    line("centre", p.centre_m);
  });
  points.forEach((p, at) => {
    const [from, to] = p.sure_m, value = p.ground_per_turn_m, odd = p.out || p.drift;
    const shown = ground(value, p.sure_m, p.ground_per_turn_u_m);
    const what = `${p.day} ${p.name}: ${shown.value} (${shown.ends.join("–")})${odd ? `, ${say("chart.odd")}` : ""}`;
    drawn.push(
      svg(
        "g",
        { class: odd ? "point odd" : "point" },
        svg("title", {}, what),
        svg("line", { x1: x(at), x2: x(at), y1: y(from), y2: y(to) }),
        odd ? svg("rect", { x: x(at) - 7, y: y(value) - 7, width: 14, height: 14 }) : svg("circle", { cx: x(at), cy: y(value), r: 5 }),
      ),
    );
    const each = Math.ceil(points.length / 6);
    if (at % each === 0) drawn.push(svg("text", { class: "axis", x: x(at), y: HEIGHT - 30, "text-anchor": "middle" }, p.day.slice(2)));
  });
  drawn.push(svg("text", { class: "axis", x: LEFT, y: HEIGHT - 8 }, `${say("figure.ground")} (${unit.name}); ${say("chart.about")}`));
  return svg("svg", { class: "chart", viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": say("chart.title") }, ...drawn);
}
