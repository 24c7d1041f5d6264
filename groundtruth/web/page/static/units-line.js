// Above the table: which row units were counted, how, and which further columns are shown.

import { el, field } from "./dom.js";
import { state } from "./state.js";
import { say } from "./words.js";

/** @param {() => void} again called when the table has to be drawn anew */
export function unitsLine(again) {
  const names = el("input", {
    id: "row-units",
    value: state.row_units.join(", "),
    autocomplete: "off",
    maxLength: 200,
    onchange: () => {
      const given = [...new Set(names.value.split(/[,;]/).map((one) => one.trim()).filter(Boolean))];
      const count = given.length === 1 && /^\d{1,2}$/.test(given[0]) ? Number(given[0]) : 0;
      state.row_units = count > 1 ? Array.from({ length: Math.min(count, 60) }, (_, i) => String(i + 1)) : given;
      if (!state.row_units.length) state.row_units = ["1"];
      again();
    },
  });
  const ways = el(
    "select",
    { id: "by-counter", onchange: () => ((state.by_counter = ways.value === "counter"), again()) },
    el("option", { value: "turns", selected: !state.by_counter }, say("way.turns")),
    el("option", { value: "counter", selected: state.by_counter }, say("way.counter")),
  );
  const more = ["taped", "bed", "crop", "setting"].map((key) => {
    const box = el("input", {
      type: "checkbox",
      id: `more-${key}`,
      checked: state.extra.includes(key),
      onchange: () => {
        state.extra = ["taped", "bed", "crop", "setting"].filter((k) => (k === key ? box.checked : state.extra.includes(k)));
        again();
      },
    });
    return el("label", { class: "tick" }, box, say(`more.${key}`));
  });
  return el(
    "div",
    { class: "how" },
    field(say("units.counted"), names, say("units.about")),
    field(say("counted.how"), ways),
    el("fieldset", { class: "ticks" }, el("legend", {}, say("more")), ...more),
  );
}
