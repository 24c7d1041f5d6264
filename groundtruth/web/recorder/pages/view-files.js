// The passes of a day, to look at and correct, and its files, to take along.
import { faults, readings, turnsBetween } from "./counters.js";
import { el } from "./dom.js";
import { clockAhead, namesOf, runToml, trackCsv, trackGpx, turnSheet } from "./files.js";
import { canShare, download, share } from "./handover.js";
import { Recorder } from "./recorder.js";
import { clock, dayAndClock, say, shown } from "./words.js";

export async function filesView(app) {
  const recorder = app.looked ? await past(app) : app.recorder;
  const { day } = recorder;
  if (!day) return [el("h1", { tabindex: "-1" }, say("no_days")), homeButton(app)];
  const fixes = await app.store.of("fixes", day.id);
  const passes = [...recorder.passes].sort((a, b) => a.begun - b.begun);
  const going = app.recorder.day?.id === day.id;
  app.live = () => {
    const { last } = recorder; // what comes in while the files are looked at belongs to them
    if (going && last && !(fixes.at(-1)?.time >= last.time)) fixes.push(last);
  };
  return [
    el("h1", { tabindex: "-1" }, [day.setup.field, dayAndClock(day.begun)].filter(Boolean).join(", ")),
    going
      ? el("button", { class: "wide", onclick: () => app.show("field") }, say("back"))
      : homeButton(app),
    passes.length
      ? el("ol", { class: "passes" }, passLines(app, recorder, passes))
      : el("p", {}, say("no_passes")),
    recorder.notes.length
      ? el("ul", { class: "notes" }, recorder.notes.map((n) => el("li", {}, `${clock(n.time)} ${n.text}`)))
      : null,
    fileButtons(app, recorder, fixes),
    going ? endButton(app) : afterwards(app, day),
  ];
}

/** A recorder of a day that is over: it corrects, and listens to nothing. */
async function past(app) {
  const recorder = new Recorder(app.store, () => {}, (error) => app.fail(error));
  const day = (await app.store.days()).find((one) => one.id === app.looked.id);
  recorder.day = day ?? null;
  if (day) {
    recorder.passes = await app.store.of("passes", day.id);
    recorder.notes = await app.store.of("notes", day.id);
  }
  return recorder;
}

function homeButton(app) {
  return el("button", { class: "wide", onclick: () => app.show("home") }, say("home"));
}

function passLines(app, recorder, passes) {
  let number = 0;
  return passes.map((pass) => {
    if (!pass.struck) number += 1;
    return passLine(app, recorder, pass, pass.struck ? null : number);
  });
}

function passLine(app, recorder, pass, number) {
  const title = number === null ? say("struck") : say("next_pass", { number });
  const times = [pass.begun, pass.ended].filter(Boolean).map(clock).join("–");
  const facts = [times, pass.bed && say("on_bed", { bed: pass.bed }), pass.setting, pass.crop];
  const units = Object.keys(pass.start).map((unit) => {
    const end = pass.end?.[unit];
    const turns = end === undefined ? say("still_open") : turnsBetween(pass.start[unit], end);
    const way = end === undefined ? pass.start[unit] : `${pass.start[unit]} → ${end}`;
    return el("tr", {}, el("th", { scope: "row" }, say("unit", { unit })), el("td", {}, way), el("td", {}, turns));
  });
  const fault = el("p", { class: "fault", role: "alert", hidden: true });
  const place = el("div");
  const change = async (changed) => {
    const wrong = await recorder.changePass(changed);
    if (!wrong) {
      await app.render();
      return;
    }
    fault.textContent = say("chain_falls", wrong);
    fault.hidden = false;
  };
  const strike = () => change({ ...pass, struck: !pass.struck });
  const correct = () => place.replaceChildren(corrections(app, pass, change));
  const named = (key) => ({ "aria-label": `${say(key)}: ${title}, ${times}` });
  const striking = pass.struck ? "strike_back" : "strike";
  return el(
    "li",
    { class: pass.struck ? "struck" : "" },
    el("h2", {}, title),
    el("p", {}, facts.filter(Boolean).join(" · ")),
    pass.note ? el("p", { class: "why" }, pass.note) : null,
    el("table", {}, el("tbody", {}, units)),
    fault,
    place,
    el(
      "div",
      { class: "pair" },
      pass.struck ? null : el("button", { onclick: correct, ...named("correct") }, say("correct")),
      el("button", { onclick: strike, ...named(striking) }, say(striking)),
    ),
  );
}

/** Inputs for all readings of a pass; its times stay. */
function corrections(app, pass, change) {
  const units = Object.keys(pass.start);
  const typed = { start: { ...pass.start }, end: { ...(pass.end ?? {}) } };
  const fault = el("p", { class: "fault", role: "alert", hidden: true });
  const cell = (end, unit) => {
    const input = el("input", {
      inputmode: "decimal",
      autocomplete: "off",
      maxlength: "13",
      value: typed[end][unit],
      "aria-label": `${say("unit", { unit })}, ${say(end === "start" ? "begin_reading" : "end_reading")}`,
      oninput: () => (typed[end][unit] = input.value),
    });
    return el("td", {}, input);
  };
  const keep = () => {
    const start = faults(units, typed.start, {});
    const end = pass.end ? faults(units, typed.end, Object.keys(start).length ? {} : readings(units, typed.start)) : {};
    const unit = units.find((one) => start[one] || end[one]);
    if (unit) {
      const kind = start[unit] ?? end[unit];
      fault.textContent = `${say("unit", { unit })}: ${say(`fault_${kind}`, { reading: typed.start[unit] })}`;
      fault.hidden = false;
      return undefined;
    }
    return change({
      ...pass,
      start: readings(units, typed.start),
      end: pass.end ? readings(units, typed.end) : null,
    });
  };
  return el(
    "div",
    { class: "corrections" },
    el(
      "table",
      {},
      el("thead", {}, el("tr", {}, el("td"), el("th", { scope: "col" }, say("begin_reading")), pass.end ? el("th", { scope: "col" }, say("end_reading")) : null)),
      el(
        "tbody",
        {},
        units.map((unit) =>
          el("tr", {}, el("th", { scope: "row" }, say("unit", { unit })), cell("start", unit), pass.end ? cell("end", unit) : null),
        ),
      ),
    ),
    fault,
    el(
      "div",
      { class: "pair" },
      el("button", { onclick: keep }, say("keep_correction")),
      el("button", { onclick: () => app.render() }, say("leave")),
    ),
  );
}

function fileButtons(app, recorder, fixes) {
  const { day, passes, notes } = recorder;
  const names = namesOf(day);
  const gpx = namesOf(day, { gpx: true });
  const has = recorder.done.length > 0;
  const said = el("p", { role: "status", class: "why" });

  async function gone(list) {
    said.textContent = list.length ? say("saved", { names: list.join(", ") }) : say("not_shared");
    const renamed = list.find((name) => name.endsWith(".toml.txt"));
    if (renamed) said.textContent += ` ${say("renamed", { name: renamed })}`;
    if (list.length) await recorder.handedOver(list);
  }

  const save = (name, text) => () => {
    download(name, text());
    return gone([name]);
  };
  const runText = () => runToml(day, names);
  const all = () => ({
    [names.track]: trackCsv(fixes),
    ...(has ? { [names.turns]: turnSheet(passes, notes, ahead), [names.run]: runText() } : {}),
  });
  const ahead = clockAhead(fixes);
  const remarks = [
    ahead && say("clock_ahead", { seconds: shown(ahead / 1000, 1) }),
    day.leftOld && say("left_old", { count: day.leftOld }),
    day.leftAgain && say("left_again", { count: day.leftAgain }),
    day.from2001 && say("from_2001"),
  ];
  const button = (key, act, enabled = true) =>
    el("button", { class: "wide", onclick: act, disabled: !enabled }, say(key));
  return el(
    "section",
    {},
    el("h2", {}, say("files")),
    el("p", { class: "due" }, say("today")),
    canShare()
      ? el(
          "button",
          { class: "big keep", onclick: async () => gone(await share(all())), disabled: !fixes.length },
          say("share"),
        )
      : null,
    button("save_csv", save(names.track, () => trackCsv(fixes)), fixes.length > 0),
    button("save_turns", save(names.turns, () => turnSheet(passes, notes, ahead)), has),
    button("save_run", save(names.run, runText), has),
    button("save_gpx", save(gpx.track, () => trackGpx(fixes, day.setup.field || names.track)), fixes.length > 0),
    said,
    has ? el("p", { class: "why" }, say("then", { run: names.run })) : null,
    remarks.filter(Boolean).map((remark) => el("p", { class: "why" }, remark)),
  );
}

/** A button that acts at the second press only. */
function twice(key, sure, act) {
  let asked = false;
  const button = el("button", { class: "wide careful" }, say(key));
  button.addEventListener("click", () => {
    if (asked) return act();
    asked = true;
    button.textContent = say(sure);
    return undefined;
  });
  return button;
}

function endButton(app) {
  const { recorder } = app;
  if (recorder.open) {
    const number = recorder.done.length + 1;
    return el("p", { class: "why" }, say("end_open", { number }));
  }
  return twice("end_day", "end_day_sure", async () => {
    app.looked = recorder.day;
    await app.end();
    await app.show("files");
  });
}

function afterwards(app, day) {
  const reopen = async () => {
    await app.recorder.reopen(day);
    app.looked = null;
    app.screen.ask();
    await app.show("field");
  };
  const remove = async () => {
    await app.store.remove(day.id);
    app.looked = null;
    await app.show("home");
  };
  return el(
    "section",
    {},
    app.recorder.day ? null : el("button", { class: "wide", onclick: reopen }, say("go_on")),
    day.exported
      ? twice("delete_day", "delete_sure", remove)
      : el("p", { class: "why" }, `${say("delete_day")}: ${say("delete_first")}`),
  );
}
