// The frame of the page: its parts, language, units, and whether what is typed is on disk.

import { byId, el, fill } from "./dom.js";
import { findAgain, measurePart, sayAgain } from "./measure.js";
import { planPart } from "./part-plan.js";
import { seasonPart } from "./part-season.js";
import { settingPart } from "./part-setting.js";
import { changed, onKeeping, restore, state } from "./state.js";
import { language, LANGUAGES, say } from "./words.js";

/** @type {Record<string, (into: Element) => void>} */
const PARTS = { measure: measurePart, setting: settingPart, plan: planPart, season: seasonPart };
let part = "measure";
let kept = "kept";

function choice(name, value, options, label) {
  const select = el(
    "select",
    {
      id: name,
      "aria-label": label,
      onchange: () => {
        state[name] = select.value;
        changed();
        draw();
        byId(name).focus();
        sayAgain();
      },
    },
    ...Object.entries(options).map(([key, text]) => el("option", { value: key, selected: key === value }, text)),
  );
  return select;
}

function top() {
  const parts = Object.keys(PARTS).map((name) =>
    el(
      "button",
      { type: "button", "aria-current": name === part ? "page" : null, onclick: () => open(name) },
      say(`part.${name}`),
    ),
  );
  fill(
    byId("top"),
    el("strong", { class: "mark" }, "groundtruth"),
    parts.length > 1 && el("nav", { "aria-label": say("parts") }, ...parts),
    el(
      "div",
      { class: "switches" },
      choice("language", language(), LANGUAGES, say("language")),
      choice("units", state.units, { metric: say("units.metric"), us: say("units.us") }, say("units")),
    ),
    el("p", { id: "kept", class: kept, role: "status" }, say(`kept.${kept}`)),
  );
}

function open(name) {
  part = name;
  draw();
  byId("part").focus();
}

function draw() {
  document.documentElement.lang = language();
  document.title = `${say(`part.${part}`)} · groundtruth`;
  top();
  PARTS[part](byId("part"));
}

onKeeping((how) => {
  kept = how;
  const line = byId("kept");
  if (line) {
    line.className = how;
    line.textContent = say(`kept.${how}`);
  }
});

async function start() {
  try {
    await restore();
    draw();
    await findAgain();
  } catch (error) {
    fill(byId("part"), el("p", { class: "trouble", role: "alert" }, say("no.secret")));
    throw error;
  }
}

start();
