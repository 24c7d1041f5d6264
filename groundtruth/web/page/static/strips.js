// Strips of the track that somebody says are passes: marked by two taps on the map or two times.

import { ask } from "./api.js";
import { byId, el, field, fill } from "./dom.js";
import { clock, length } from "./figures.js";
import { onTap, showMarks } from "./map.js";
import { session, state } from "./state.js";
import { working } from "./work.js";
import { say } from "./words.js";

/** @type {() => Promise<void>} */
let after = async () => {};

/** @param {() => Promise<void>} listener called when a strip was marked or taken back */
export function onStrips(listener) {
  after = listener;
}

/** Above the table: the button, and what it opens. @param {(found: any) => any} rowOf */
export function stripsLine(rowOf) {
  const panel = el("div", { id: "strip-panel" });
  const button = el("button", { type: "button", id: "mark-strip", "aria-expanded": "false", onclick: () => (panel.firstChild ? close() : open()) }, say("strip.mark"));
  const gone = session.found.strips.filter((one) => one.error);

  function close() {
    fill(panel);
    onTap(null);
    showMarks([]);
    button.setAttribute("aria-expanded", "false");
  }

  function open() {
    /** @type {any[]} */
    let taps = [];
    /** @type {any} */
    let strip = null;
    const said = el("p", { id: "strip-said", role: "status" });
    const inputs = ["from", "to"].map((end) =>
      el("input", { id: `strip-${end}`, placeholder: "08:41:07", maxLength: 40, autocomplete: "off", oninput: () => (strip = null), onkeydown: (event) => event.key === "Enter" && take() }),
    );
    const asked = (by) => working("working.find", "strip-panel", () => ask("strip", { tracks: state.tracks, time_zone: state.time_zone, ...by }));

    async function tapped(place) {
      taps = taps.length === 1 ? [taps[0], place] : [place];
      strip = null;
      showMarks(taps);
      said.textContent = taps.length === 1 ? say("strip.other") : "";
      if (taps.length < 2) return;
      strip = await asked({ places: taps });
      if (!strip) {
        taps = [];
        showMarks([]);
        return;
      }
      strip.given.forEach((time, at) => (inputs[at].value = clock(time)));
      tell();
    }

    function tell() {
      showMarks([], strip.line);
      const on = strip.lies_on.length ? ` ${say("strip.lies_on", { passes: strip.lies_on.join(", ") })}` : "";
      said.textContent = `${say("strip.found", { length: length(strip.length_m), from: clock(strip.given[0]), to: clock(strip.given[1]) })}${on}`;
    }

    async function take() {
      strip ??= await asked({ times: inputs.map((one) => one.value) });
      if (!strip) return;
      const { given, lies_on } = strip;
      for (const one of session.found.passes) if (lies_on.includes(one.number)) rowOf(one).struck = true;
      state.strips = [...state.strips.filter((one) => one[0] !== given[0]), given];
      close();
      await after();
      const marked = session.found?.all.find((one) => one.given?.[0] === given[0]);
      if (marked) /** @type {any} */ (document.querySelector(`#pass-${marked.number} td.typed input`))?.focus();
    }

    fill(
      panel,
      el("p", {}, say("strip.about")),
      el("div", { class: "form" }, ...inputs.map((input, at) => field(say(at ? "strip.to" : "strip.from"), input))),
      said,
      el("div", { class: "buttons" }, el("button", { type: "button", id: "strip-take", onclick: take }, say("strip.take")), el("button", { type: "button", id: "strip-cancel", onclick: () => (close(), button.focus()) }, say("cancel"))),
    );
    button.setAttribute("aria-expanded", "true");
    onTap(tapped);
    inputs[0].focus({ preventScroll: true });
  }

  return el(
    "div",
    { class: "strips" },
    button,
    panel,
    ...gone.map((one) => el("p", { class: "trouble" }, say("strip.gone", { times: one.given.map(clock).join("–") }), " ", el("span", { lang: "en" }, one.error), " ", el("button", { type: "button", onclick: () => takeBack(one.given) }, say("strip.back")))),
  );
}

/** A strip is no pass after all. @param {string[]} given */
export async function takeBack(given) {
  state.strips = state.strips.filter((one) => one[0] !== given[0] || one[1] !== given[1]);
  await after();
  byId("mark-strip")?.focus();
}
