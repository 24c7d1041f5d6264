// Keep what was measured: open files in a folder, and a line in the season's record.

import { ask } from "./api.js";
import { byId, el, field, fill } from "./dom.js";
import { begin, changed, session, state } from "./state.js";
import { working } from "./work.js";
import { say } from "./words.js";

/** @param {() => any} runTyped */
export function saveStep(runTyped) {
  const into = el("div", { id: "saving" });
  const season = el("input", { type: "checkbox", id: "into-season", checked: true });
  const replace = el("input", { type: "checkbox", id: "season-replace" });
  const texts = ["soil", "note"].map((key) => {
    const input = el("input", {
      id: `season-${key}`,
      value: state.season[key],
      maxLength: 200,
      oninput: () => ((state.season[key] = input.value), changed()),
    });
    return field(say(`season.${key}`), input);
  });

  async function save() {
    const said = await working("working.save", "saving", () =>
      ask("save", { run: runTyped(), season: season.checked, replace: replace.checked, ...state.season, seeder: state.machine.name ?? "" }),
    );
    if (said) session.saved = said;
    if (said) fill(into, saved(said));
  }

  fill(into, session.saved && saved(session.saved));
  return el(
    "section",
    { class: "keep" },
    el("h3", {}, say("save.title")),
    el("div", { class: "form" }, ...texts),
    el("label", { class: "tick" }, season, say("save.season")),
    el("label", { class: "tick" }, replace, say("save.replace")),
    el("div", { class: "buttons" }, el("button", { type: "button", class: "main", id: "save-run", onclick: save }, say("save"))),
    into,
  );
}

function saved(said) {
  const links = Object.entries(said.pages).map(([name, address]) =>
    el("a", { href: address, target: "_blank", rel: "noopener" }, say(`open.${name}`)),
  );
  return el(
    "div",
    { class: "saved", role: "status" },
    el("p", {}, say("saved.in"), " ", el("code", {}, said.folder)),
    el("p", { class: "small" }, said.files.join(", ")),
    said.season && el("p", { lang: "en" }, said.season),
    said.season_refused && el("p", { class: "trouble", lang: "en" }, said.season_refused),
    el("div", { class: "buttons" }, ...links, el("button", { type: "button", id: "new-run", onclick: beginNew }, say("new"))),
  );
}

async function beginNew() {
  await begin();
  session.files = [];
  session.found = session.result = session.saved = null;
  const { measurePart } = await import("./measure.js");
  measurePart(byId("part"));
  byId("add-files").focus();
}
