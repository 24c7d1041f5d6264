// Step 1: the files from the phone, dropped or chosen.

import { ask, send } from "./api.js";
import { el } from "./dom.js";
import { session, state } from "./state.js";
import { fillCounts, fillForms, stillMissing } from "./typed-back.js";
import { working } from "./work.js";
import { say } from "./words.js";

/** @param {(formsToo?: boolean) => Promise<void>} after called when the files have changed */
export function trackStep(after) {
  const input = el("input", {
    type: "file",
    id: "add-files",
    multiple: true,
    "aria-describedby": "add-about",
    onchange: () => take(input.files),
  });
  const zone = el(
    "div",
    { id: "drop", class: "drop" },
    el("label", { for: "add-files" }, say(state.tracks.length ? "track.more" : "track.drop")),
    input,
    el("small", { id: "add-about" }, say("track.about")),
  );

  /** @param {FileList|File[]} files */
  async function take(files) {
    for (const file of [...files].sort((a, b) => Number(b.name.endsWith(".toml")) - Number(a.name.endsWith(".toml")))) {
      const kept = await working("working.send", "drop", () => send(file));
      if (!kept || kept.kind === "made") continue;
      if (kept.kind === "run" || kept.kind === "counts") {
        if (kept.kind === "run") fillForms(kept.form);
        else fillCounts(kept.form, kept.name);
        await after(true);
        continue;
      }
      session.files.push(kept);
      if (kept.kind === "sheet") state.sheet = kept.key;
      else state.tracks.push(kept.key);
      await after();
    }
  }

  zone.addEventListener("dragover", (event) => {
    event.preventDefault();
    zone.classList.add("over");
  });
  zone.addEventListener("dragleave", () => zone.classList.remove("over"));
  zone.addEventListener("drop", (event) => {
    event.preventDefault();
    zone.classList.remove("over");
    take([...event.dataTransfer.files]);
  });

  const files = [...state.tracks, state.sheet]
    .map((key) => session.files.find((one) => one.key === key))
    .filter(Boolean);
  const list = el(
    "ul",
    { class: "files" },
    ...files.map((one) =>
      el(
        "li",
        {},
        el("span", {}, one.name),
        el("small", {}, say(one.key === state.sheet ? "track.sheet" : "track.track")),
        el(
          "button",
          { type: "button", "aria-label": `${say("remove")}: ${one.name}`, onclick: () => drop(one) },
          say("remove"),
        ),
      ),
    ),
  );

  async function drop(one) {
    state.tracks = state.tracks.filter((key) => key !== one.key);
    if (state.sheet === one.key) state.sheet = "";
    session.files = session.files.filter((kept) => kept.key !== one.key);
    await ask("remove", { key: one.key }).catch(() => {});
    await after();
  }

  const missing = stillMissing();
  const wanted = missing.length > 0 && el("p", { class: "verdict-line cannot-tell", id: "files-wanted" }, say("track.wanted", { files: missing.join(", ") }));
  const left = session.left_out?.length > 0 && el("p", { class: "small" }, say("run.left_out", { fields: session.left_out.join(", ") }));
  return el("div", {}, files.length ? list : null, wanted, left, zone);
}
