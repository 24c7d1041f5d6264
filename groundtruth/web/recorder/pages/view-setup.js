// What is set up at home. Every letter is kept as it is typed.
import { el } from "./dom.js";
import { inUnits, setupOf, smallUnit } from "./setup.js";
import { LANGUAGES, say, speak } from "./words.js";

export function setupView(app) {
  const unit = smallUnit(app.form);
  const wrong = el("p", { class: "fault", role: "alert", hidden: true });
  const back = app.recorder.day ? "field" : "home";

  async function keep() {
    const { setup, wrong: found } = setupOf(app.form);
    if (found.length) {
      const [key, values] = found[0];
      const what = ["wheel", "limits", "ratio", "in_use"].includes(values.what)
        ? say(values.what)
        : values.what;
      wrong.textContent = say(key, { ...values, what });
      wrong.hidden = false;
      wrong.scrollIntoView({ block: "center" });
      return;
    }
    await app.recorder.newSetup(setup);
    app.tell("kept");
    await app.show(back);
  }

  const put = (values) => app.keepForm({ ...app.form, ...values });

  function text(name, label, more = {}) {
    const input = el("input", {
      value: app.form[name],
      name,
      maxlength: "60",
      autocomplete: "off",
      ...more,
      oninput: () => put({ [name]: input.value }),
    });
    return el("label", {}, el("span", {}, label), input);
  }

  function figure(name, label, suffix = "") {
    const shownLabel = suffix ? `${label} (${suffix})` : label;
    return text(name, shownLabel, { inputmode: "decimal", class: "short" });
  }

  function list(name, label, why) {
    const area = el("textarea", {
      name,
      rows: String(Math.max(3, app.form[name].split("\n").length)),
      autocomplete: "off",
      "aria-describedby": `${name}-why`,
      oninput: () => put({ [name]: area.value }),
      value: app.form[name],
    });
    const about = el("small", { id: `${name}-why` }, why);
    return el("label", {}, el("span", {}, label), about, area);
  }

  function choice(name, label, options, chosen) {
    return el(
      "fieldset",
      { class: "choice" },
      el("legend", {}, label),
      Object.entries(options).map(([value, words]) =>
        el(
          "label",
          {},
          el("input", {
            type: "radio",
            name,
            value,
            checked: app.form[name] === value,
            onchange: () => chosen(value),
          }),
          el("span", {}, words),
        ),
      ),
    );
  }

  async function again(form) {
    await app.keepForm(form);
    speak(form.language);
    await app.render();
  }

  const languages = Object.fromEntries(Object.entries(LANGUAGES).map(([k, w]) => [k, w.name]));
  return [
    el("h1", { tabindex: "-1" }, say("set_up")),
    choice("language", say("language"), languages, (language) => again({ ...app.form, language })),
    choice("units", say("show_units"), { metric: say("metric"), us: say("us") }, (units) =>
      again(inUnits(app.form, units)),
    ),
    text("farm", say("farm")),
    text("field", say("field")),
    text("seeder", say("seeder")),
    list("unitNames", say("units_counted"), say("units_counted_why")),
    choice(
      "turnsOf",
      say("turns_of"),
      { gear: say("turns_of_gear"), wheel: say("turns_of_wheel") },
      (turnsOf) => put({ turnsOf }),
    ),
    list("beds", say("beds"), say("beds_why")),
    list("settings", say("settings"), say("settings_why")),
    cropRows(app, put, unit),
    el("p", { class: "why" }, say("optional")),
    figure("wheel", say("wheel"), unit),
    figure("limits", say("limits"), unit),
    figure("ratio", say("ratio")),
    figure("inUse", say("in_use"), unit),
    wrong,
    el("button", { class: "big keep", onclick: keep }, say("keep")),
  ];
}

function cropRows(app, put, unit) {
  const rows = el("div", { class: "crops" });
  const crops = app.form.crops.map((crop) => ({ ...crop }));

  function row(index) {
    const cell = (name, label, more) => {
      const input = el("input", {
        value: crops[index]?.[name] ?? "",
        autocomplete: "off",
        maxlength: "60",
        ...more,
        oninput: () => {
          const fresh = index === crops.length;
          crops[index] = { name: "", spacing: "", ...crops[index], [name]: input.value };
          if (fresh) rows.append(row(crops.length));
          return put({ crops: crops.map((crop) => ({ ...crop })) });
        },
      });
      return el("label", {}, el("span", {}, label), input);
    };
    return el(
      "div",
      { class: "crop" },
      cell("name", say("crop_name", { number: index + 1 })),
      cell("spacing", `${say("crop_spacing")} (${unit})`, { inputmode: "decimal", class: "short" }),
    );
  }

  for (let index = 0; index <= crops.length; index += 1) rows.append(row(index));
  return el("section", {}, el("h2", {}, say("crops")), rows);
}
