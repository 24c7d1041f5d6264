// The first screen: what must hold before going out, and the days that are kept.
import { el } from "./dom.js";
import { finished } from "./files.js";
import { Screen } from "./screen.js";
import { dayAndClock, say, shown } from "./words.js";

export async function homeView(app) {
  const days = (await app.store.days()).reverse();
  const { recorder } = app;
  const listed = await Promise.all(
    days.map(async (day) => {
      const passes = finished(await app.store.of("passes", day.id)).length;
      const fixes = await app.store.count("fixes", day.id);
      return dayLine(app, day, passes, fixes);
    }),
  );
  const begin = recorder.day
    ? el("button", { class: "big begin", onclick: () => app.show("field") }, say("back"))
    : el("button", { class: "big begin", onclick: () => app.begin() }, say("begin"));
  const list = el("ul", { class: "checks" });
  let known = "";
  app.live = () => {
    const now = `${app.offline} ${app.persisted}`;
    if (now !== known) list.replaceChildren(...checks(app));
    known = now;
  };
  return [
    el("h1", { tabindex: "-1" }, say("title")),
    begin,
    el("p", { class: "why" }, say("begin_why")),
    el("button", { class: "wide", onclick: () => app.show("setup") }, say("set_up")),
    el("p", { class: "why" }, say("set_up_why")),
    el("section", {}, el("h2", {}, say("before")), list),
    el("p", { class: "caution" }, say("standing"), " ", say("manual")),
    el(
      "section",
      {},
      el("h2", {}, say("kept_days")),
      listed.length ? el("ul", { class: "days" }, listed) : el("p", {}, say("no_days")),
    ),
  ];
}

function checks(app) {
  const secure = window.isSecureContext && "geolocation" in navigator;
  /** @type {[boolean|null, string][]} good or not, null for a hint; and the words */
  const list = [[secure, secure ? "check_address" : "check_address_bad"]];
  if (secure) {
    const offline = { yes: "check_offline", wait: "check_offline_wait", no: "check_offline_bad" };
    list.push([app.offline === "yes", offline[app.offline]]);
    if (!matchMedia("(display-mode: standalone)").matches && !("standalone" in navigator && navigator.standalone)) {
      list.push([null, "check_home"]);
    }
    list.push([Screen.offered, Screen.offered ? "check_screen" : "check_screen_bad"]);
  }
  list.push([app.persisted ? true : null, app.persisted ? "check_storage" : "check_storage_bad"]);
  return list.map(([good, key]) =>
    el("li", { class: good ? "good" : good === null ? "hint" : "bad" }, say(key)),
  );
}

function dayLine(app, day, passes, fixes) {
  const when = dayAndClock(day.begun);
  const line = say("day_line", { when, passes: shown(passes), fixes: shown(fixes) });
  const going = app.recorder.day?.id === day.id;
  const state = going ? "recording" : day.exported ? "exported" : "not_exported";
  const look = () => {
    app.looked = going ? null : day;
    return app.show("files");
  };
  return el(
    "li",
    {},
    el("span", {}, [day.setup.field, line].filter(Boolean).join(": ")),
    el("span", { class: state === "not_exported" ? "due" : "state" }, say(state)),
    el("button", { onclick: look, "aria-label": `${say("open")}: ${when}` }, say("open")),
  );
}
