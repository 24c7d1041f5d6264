// The screen for the field: one large button, the counters in big digits, the rest by tapping.
import { faults, readings, unmoved } from "./counters.js";
import { clean, cleanNote, el } from "./dom.js";
import { withOneMore } from "./setup.js";
import { clock, say, shownLength } from "./words.js";

const HELD_MS = 1_000;
const CHOICES = [
  ["bed", "beds"],
  ["setting", "settings"],
  ["crop", "crops"],
];

export function fieldView(app) {
  const { recorder } = app;
  const { open } = recorder;
  const number = recorder.done.length + 1;
  const counters = counterRows(app);
  const press = () => (open ? ended(app, counters) : begun(app, counters));
  const words = open ? say("ends", { number }) : say("begins", { number });
  const look = `big field ${open ? "end" : "begin"}`;
  const button = el("button", { class: look, onclick: press }, words);
  const heading = open ? say("on_pass", { number }) : say("next_pass", { number });
  return [
    el("h1", { tabindex: "-1" }, heading),
    open ? wayOf(app, open) : choosers(app),
    counters.node,
    open || number === 1 ? button : held(button),
    noteRow(app),
    el(
      "nav",
      {},
      el("button", { class: "wide", onclick: () => files(app) }, say("passes_and_files")),
      el("button", { class: "wide", onclick: () => app.show("setup") }, say("set_up")),
      el("button", { class: "wide", onclick: () => app.show("home") }, say("home")),
    ),
  ];
}

function files(app) {
  app.looked = null;
  return app.show("files");
}

function wayOf(app, open) {
  const parts = [say("since", { when: clock(open.begun) })];
  if (open.bed) parts.unshift(say("on_bed", { bed: open.bed }));
  if (open.setting) parts.push(open.setting);
  if (open.crop) parts.push(open.crop);
  const way = el("p", { class: "way" });
  app.live = () => {
    const length = shownLength(app.recorder.covered, app.setup.units);
    way.textContent = [...parts, say("so_far", { length })].join(" · ");
  };
  return way;
}

/** The counters with what is wrong with each, and what was typed. */
function counterRows(app) {
  const { recorder } = app;
  const { open, units } = recorder;
  const previous = open ? null : recorder.done.at(-1);
  const typed = { ...(app.draft.counts ?? {}) };
  if (previous && !app.draft.reset) {
    for (const unit of units) typed[unit] ??= previous.end[unit] ?? "";
  }
  const before = recorder.before();
  const rows = units.map((unit, index) => {
    const fault = el("p", { class: "fault", role: "alert", id: `fault-${index}`, hidden: true });
    const input = el("input", {
      class: "count",
      inputmode: "decimal",
      autocomplete: "off",
      maxlength: "13",
      "aria-label": say("counter_of", { unit }),
      "aria-describedby": fault.id,
      value: typed[unit] ?? "",
      onfocus: () => input.select(),
      oninput: () => {
        typed[unit] = input.value;
        fault.hidden = true;
        return app.keepDraft({ counts: { ...typed } });
      },
    });
    const known = before[unit] === undefined ? "" : before[unit];
    const hint = known && say(open ? "at_begin" : "last_reading", { reading: known });
    const label = el("span", { class: "unit" }, say("unit", { unit }), el("small", {}, hint));
    return { unit, input, fault, node: el("div", { class: "counter" }, label, input, fault) };
  });
  const stood = el("p", { class: "fault", role: "alert", hidden: true });
  const zero = el("button", { class: "wide", onclick: () => setToZero(app) }, say("set_to_zero"));
  const filled = previous && !app.draft.reset;
  const number = recorder.done.length;
  const node = el(
    "section",
    { class: "counters" },
    el("h2", {}, say(open ? "counters_end" : "counters_begin")),
    filled ? el("p", { class: "why" }, say("as_before", { number })) : null,
    rows.map((row) => row.node),
    stood,
    open ? null : zero,
  );

  /** Show what is wrong; whether anything is. */
  function refuse(floor) {
    const wrong = faults(units, typed, floor);
    for (const { unit, input, fault } of rows) {
      fault.hidden = !wrong[unit];
      input.setAttribute("aria-invalid", String(Boolean(wrong[unit])));
      if (wrong[unit]) {
        fault.textContent = say(`fault_${wrong[unit]}`, { reading: floor[unit] });
      }
    }
    const first = rows.find(({ unit }) => wrong[unit]);
    first?.input.focus();
    return Boolean(first);
  }

  return { node, typed, units, refuse, stood };
}

async function setToZero(app) {
  const counts = Object.fromEntries(app.recorder.units.map((unit) => [unit, "0"]));
  await app.keepDraft({ counts, reset: true });
  await app.render();
}

async function begun(app, counters) {
  const at = Date.now();
  const { recorder, draft } = app;
  if (recorder.motion.moving || counters.refuse(recorder.before(draft.reset))) return;
  const { bed = "", setting = "", crop = "", reset = false } = draft;
  const more = { bed, setting, crop, reset, note: "", struck: false };
  await kept(app, async () => {
    await recorder.beginPass(at, counters.typed, more);
    await app.keepDraft({ counts: {}, reset: false });
  });
}

async function ended(app, counters) {
  const at = Date.now();
  const { recorder } = app;
  const { open } = recorder;
  if (recorder.motion.moving || counters.refuse(open.start)) return;
  const still = unmoved(counters.units, open.start, readings(counters.units, counters.typed));
  const said = still.join(", ");
  if (still.length && app.draft.stood !== said) {
    counters.stood.textContent = say("fault_stood", { units: said });
    counters.stood.hidden = false;
    await app.keepDraft({ stood: said });
    return;
  }
  await kept(app, async () => {
    await recorder.endPass(at, counters.typed);
    const beds = app.setup.beds;
    const bed = beds[beds.indexOf(open.bed) + 1] ?? "";
    await app.keepDraft({ counts: {}, reset: false, stood: null, bed });
  });
}

/** Do what a press asks for, once, however often a glove touches meanwhile. */
async function kept(app, act) {
  if (app.busy) return;
  app.busy = true;
  try {
    await act();
    app.tell(null);
    await app.show("field");
  } catch (error) {
    app.fail(error);
  } finally {
    app.busy = false;
  }
}

/** A button that cannot be pressed at once, so that the second touch of a glove does not begin the
 * next pass, for which the counters are filled in already. */
function held(button) {
  button.disabled = true;
  setTimeout(() => (button.disabled = false), HELD_MS);
  return button;
}

function choosers(app) {
  return el(
    "div",
    { class: "choosers" },
    CHOICES.map(([name, list]) => chooser(app, name, list)),
  );
}

function chooser(app, name, list) {
  const chosen = el("strong");
  const chips = el("div", { class: "chips" });
  const input = el("input", {
    maxlength: "60",
    autocomplete: "off",
    "aria-label": say("add_to", { what: say(name) }),
  });

  function draw() {
    const value = app.draft[name] ?? "";
    const options = app.setup[list].map((one) => one.name ?? one);
    if (value && !options.includes(value)) options.push(value);
    chosen.textContent = value || say("none");
    chips.replaceChildren(
      ...[...options, ""].map((option) =>
        el(
          "button",
          {
            class: "chip",
            "aria-pressed": String(option === value),
            onclick: () => take(option),
          },
          option || say("none"),
        ),
      ),
    );
  }

  async function take(value) {
    node.open = false;
    const kept = app.keepDraft({ [name]: value });
    draw();
    await kept;
  }

  async function add() {
    const form = withOneMore(app.form, list, input.value);
    if (!clean(input.value)) return;
    await app.keepForm(form);
    await app.recorder.newSetup(app.setup);
    await take(clean(input.value));
    input.value = "";
  }

  const node = el(
    "details",
    {},
    el("summary", {}, el("span", {}, say(name)), chosen),
    chips,
    el("div", { class: "adder" }, input, el("button", { onclick: add }, say("add"))),
  );
  draw();
  return node;
}

function noteRow(app) {
  const area = el("textarea", {
    rows: "2",
    maxlength: "500",
    value: app.draft.note ?? "",
    oninput: () => app.keepDraft({ note: area.value }),
  });
  const keep = async () => {
    const text = cleanNote(area.value);
    if (!text) return;
    try {
      const { open } = app.recorder;
      const note = await app.recorder.addNote(Date.now(), text);
      if (open) {
        const joined = [open.note, text].filter(Boolean).join("; ");
        await app.recorder.changePass({ ...open, note: joined });
      }
      await app.keepDraft({ note: "" });
      area.value = "";
      app.tell("note_kept", { when: clock(note.time) });
    } catch (error) {
      app.fail(error);
    }
  };
  return el(
    "section",
    { class: "note" },
    el("label", {}, el("span", {}, say("note")), area),
    el("button", { class: "wide", onclick: keep }, say("keep_note")),
  );
}
