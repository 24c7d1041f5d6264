// What stands behind the maps: the grower's own field outlines, paths and buildings.

import { ask, send } from "./api.js";
import { byId, el, field } from "./dom.js";
import { session } from "./state.js";
import { working } from "./work.js";
import { say } from "./words.js";

/** @param {() => void} again called when it is another */
export function backdropLine(again) {
  const input = el("input", { type: "file", id: "add-backdrop", accept: ".geojson,.json,.kml", onchange: () => take(() => send(input.files[0], "backdrop")) });

  async function take(work) {
    const said = await working("working.send", "backdrop", work);
    if (!said) return;
    session.backdrop = said;
    again();
    byId("backdrop").open = true;
    byId("add-backdrop").focus();
  }

  const { name, notices } = session.backdrop;
  const here = el("p", {}, el("strong", {}, name), " ", el("button", { type: "button", id: "remove-backdrop", "aria-label": `${say("remove")}: ${name}`, onclick: () => take(() => ask("backdrop", { remove: true })) }, say("remove")));
  return el(
    "details",
    { id: "backdrop" },
    el("summary", {}, say("backdrop.title")),
    name && here,
    ...notices.map((text) => el("p", { class: "small", lang: "en" }, text)),
    field(say("backdrop.file"), input, say("backdrop.about")),
  );
}
