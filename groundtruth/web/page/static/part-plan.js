// The part "Plan": before going out, how many passes a figure takes.

import { ask } from "./api.js";
import { drawn } from "./blocks.js";
import { el, field, fill } from "./dom.js";
import { groundUnit, lengthUnit } from "./figures.js";
import { changed, state } from "./state.js";
import { bound } from "./typed.js";
import { working } from "./work.js";
import { say } from "./words.js";

const speedUnit = () => ({ name: state.units === "us" ? "mph" : "km/h" });

/** @param {Element} into */
export function planPart(into) {
  const typed = state.plan;
  const choice = (key, options) => {
    const select = el(
      "select",
      { id: `plan-${key}`, onchange: () => ((typed[key] = select.value), changed()) },
      ...options.map((one) => el("option", { value: one, selected: typed[key] === one }, say(`plan.${key}.${one}`))),
    );
    return field(say(`plan.${key}`), select);
  };
  const out = el("div", { id: "plan-out", "aria-live": "polite" });
  const press = async () => {
    fill(out);
    const said = await working("working.plan", "plan-out", () => ask("plan", { ...typed, units: state.units }));
    if (said) out.replaceChildren(drawn(said.blocks));
  };
  fill(
    into,
    el("h1", {}, say("plan.title")),
    el(
      "section",
      { class: "step" },
      el("h2", {}, say("plan.how")),
      el(
        "div",
        { class: "form" },
        field(`${say("plan.bed_length")} (${lengthUnit().name})`, bound(typed, "bed_length", "plan-bed", lengthUnit)),
        field(`${say("plan.speed")} (${speedUnit().name})`, bound(typed, "speed", "plan-speed", speedUnit)),
        field(`${say("figure.ground")} (${groundUnit().name})`, bound(typed, "ground", "plan-ground", groundUnit), say("plan.ground.about")),
        field(say("plan.within"), bound(typed, "within", "plan-within", undefined, true)),
        choice("count", ["whole", "tenth", "each"]),
        choice("ends", ["stand", "instants", "rolling"]),
        choice("phone", ["calm", "ordinary", "drifting", "rough", "bad"]),
      ),
      el("div", { class: "buttons" }, el("button", { type: "button", id: "make-plan", class: "main", onclick: press }, say("plan.make"))),
      out,
    ),
  );
}
