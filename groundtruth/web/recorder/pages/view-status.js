// The strip at the top: whether positions come, whether the screen stays on, and what to heed.
import { el } from "./dom.js";
import { clock, say, shown, shownLength } from "./words.js";

const SILENT_S = 5;
const WEAK_M = 15;
const ROUGH_M = 200;

/** The strip, and a function that brings it up to date without touching anything else. */
export function statusView(app) {
  const position = el("p", { class: "position" });
  const rest = el("p", { class: "rest" });
  const notice = el("p", { class: "notice", role: "status", hidden: true });
  const safety = el("p", { class: "safety", hidden: true });
  const node = el("header", {}, position, rest, safety, notice);

  function write(where, text) {
    if (where.textContent !== text) where.textContent = text;
  }

  function update() {
    const { recorder, screen } = app;
    const recording = recorder.day !== null;
    node.hidden = !recording && !app.notice;
    position.hidden = rest.hidden = safety.hidden = !recording;
    notice.hidden = !app.notice;
    write(notice, app.notice ? say(...app.notice) : "");
    if (!recording) return;
    const [text, grade] = reception(recorder, app.setup.units);
    write(position, text);
    position.className = `position ${grade}`;
    const begun = say("since", { when: clock(recorder.day.begun) });
    const parts = [
      `${say("recording")} ${begun}`,
      say("fix_count", { count: shown(recorder.count) }),
      say(screen.on ? "screen_on" : "screen_off"),
    ];
    if (recorder.day.from2001) parts.push(say("from_2001"));
    write(rest, parts.join(" · "));
    write(safety, say(recorder.motion.moving ? "moving" : "standing"));
    node.classList.toggle("moves", recorder.motion.moving);
  }

  return { node, update };
}

function reception({ trouble, last }, units) {
  if (trouble === "denied") return [say("denied"), "bad"];
  if (!last) return [say(trouble === "unavailable" ? "unavailable" : "no_fix"), "weak"];
  const seconds = Math.floor((Date.now() - last.received) / 1000);
  if (trouble) return [say("unavailable"), "bad"];
  if (seconds >= SILENT_S) return [say("fix_age", { seconds: shown(seconds) }), "bad"];
  const accuracy = last.accuracy === null ? "?" : shownLength(last.accuracy, units);
  if (last.accuracy > ROUGH_M) return [say("fix_rough", { accuracy }), "bad"];
  if (last.accuracy > WEAK_M) return [say("fix_weak", { accuracy }), "weak"];
  return [say("fix_good", { accuracy }), "good"];
}
