// Changes of the seeder in the season's record: noted, put right, taken out.

import { el, field } from "./dom.js";
import { mend } from "./part-season.js";
import { state } from "./state.js";
import { held } from "./typed.js";
import { say } from "./words.js";

const KINDS = ["tyre", "wheel", "gear", "pressure", "unit serviced", "other"];
const kindSaid = (one) => say(`change.${one.replace(" ", "_")}`);

/** @param {string} id @param {string} [chosen] */
const kinds = (id, chosen = "") => held(el("select", { id }, ...KINDS.map((one) => el("option", { value: one, selected: one === chosen }, kindSaid(one)))));

/** Those noted so far, each to put right. @param {any[]} list */
export function changes(list) {
  return el("ul", { class: "runs", id: "changes" }, ...list.map(change));
}

function change(one) {
  const id = `change-${one.number}`;
  const day = held(el("input", { type: "date", id: `${id}-day`, value: one.day }));
  const kind = kinds(`${id}-kind`, one.kind);
  const texts = ["seeder", "unit", "note"].map((key) => [key, held(el("input", { id: `${id}-${key}`, maxLength: 200, value: one[key] ?? "" }))]);
  const all = [day, kind, ...texts.map(([, input]) => input)];
  const keep = () => mend({ do: "edit change", number: one.number, day: day.value, kind: kind.value, ...Object.fromEntries(texts.map(([key, input]) => [key, input.value])) }, all);
  const away = () => mend({ do: "remove change", number: one.number }, all);
  const what = [one.day, kindSaid(one.kind), one.seeder, one.unit, one.note].filter(Boolean).join(" · ");
  return el(
    "li",
    {},
    el(
      "details",
      { open: all.some((input) => input.id in state.held) },
      el("summary", { id }, what),
      el("div", { class: "form" }, field(say("change.day"), day), field(say("change.kind"), kind), ...texts.map(([key, input]) => field(say(`season.${key}`), input))),
      el(
        "div",
        { class: "buttons" },
        el("button", { type: "button", id: `${id}-save`, onclick: keep }, say("change.edit")),
        el("button", { type: "button", id: `${id}-remove`, onclick: away, "aria-label": `${say("remove")}: ${what}` }, say("remove")),
      ),
    ),
  );
}

/** A form to note one more. */
export function changeForm() {
  const day = held(el("input", { type: "date", id: "change-day" }));
  const kind = kinds("change-kind");
  const seeder = held(el("input", { id: "change-seeder", maxLength: 80, value: state.machine.name ?? "" }));
  const note = held(el("input", { id: "change-note", maxLength: 200 }));
  return el(
    "div",
    {},
    el("div", { class: "form" }, field(say("change.day"), day), field(say("change.kind"), kind), field(say("season.seeder"), seeder), field(say("season.note"), note)),
    el(
      "div",
      { class: "buttons" },
      el("button", { type: "button", id: "note-change", onclick: () => mend({ do: "change", day: day.value, kind: kind.value, seeder: seeder.value, note: note.value }, [day, kind, seeder, note]) }, say("change.note")),
    ),
  );
}
