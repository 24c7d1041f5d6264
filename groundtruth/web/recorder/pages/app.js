// The page: what is shown, and what a touch does.
import { el } from "./dom.js";
import { Recorder } from "./recorder.js";
import { Screen } from "./screen.js";
import { emptyForm, setupOf } from "./setup.js";
import { openStore } from "./store.js";
import { say, speak, usual } from "./words.js";
import { fieldView } from "./view-field.js";
import { filesView } from "./view-files.js";
import { homeView } from "./view-home.js";
import { setupView } from "./view-setup.js";
import { statusView } from "./view-status.js";

/** @type {Record<string, (app: App) => any>} */
const VIEWS = { home: homeView, setup: setupView, field: fieldView, files: filesView };
const root = /** @type {HTMLElement} */ (document.getElementById("app"));
const LOCK_WAIT_MS = 3_000;

class App {
  view = "home";
  /** The day whose files are shown, if it is not the one that is recorded. @type {any} */
  looked = null;
  /** What is typed and not pressed yet. @type {any} */
  draft = {};
  offline = "wait"; // or "yes", "no"
  persisted = false;
  busy = false; // whether a press is being kept
  live = () => {}; // brings what a view shows of the ride up to date
  /**
   * Key of the words, and values.
   * @type {[string, any]|null}
   */
  notice = null;
  #hidden = 0;
  /** @type {{node: any, update: () => void}|null} */
  #status = null;
  #turn = 0;

  constructor(store, form) {
    this.store = store;
    this.form = form;
    this.recorder = new Recorder(
      store,
      () => this.#tick(),
      (error) => this.fail(error),
    );
    this.screen = new Screen(
      () => this.recorder.day !== null,
      () => this.#tick(),
    );
  }

  async start() {
    this.draft = (await this.store.kept("draft")) ?? {};
    this.persisted = (await navigator.storage?.persisted?.()) ?? false;
    const gap = await this.recorder.resume();
    if (gap !== null) {
      this.view = "field";
      if (gap > 5) this.notice = ["came_back", { seconds: Math.round(gap) }];
      this.screen.ask();
    }
    document.addEventListener("visibilitychange", () => this.#seen());
    document.addEventListener("pointerup", () => {
      if (this.recorder.trouble === "denied") this.recorder.again(); // it may be allowed by now
    });
    setInterval(() => this.#tick(), 1000);
    await this.show(this.view);
    this.#keepOffline();
  }

  get setup() {
    return setupOf(this.form).setup;
  }

  async show(view) {
    this.view = view;
    await this.render();
    window.scrollTo(0, 0);
    document.querySelector("h1")?.focus();
  }

  async render() {
    const turn = (this.#turn += 1);
    this.live = () => {};
    const content = await VIEWS[this.view](this);
    if (turn !== this.#turn) return; // something else was to be shown meanwhile
    const status = statusView(this);
    this.#status = status;
    const inputs = el("fieldset", { id: "inputs", "aria-label": say("title") }, content);
    const goBack = keyboardIn(root);
    root.replaceChildren(status.node, el("main", {}, inputs));
    goBack();
    this.#tick();
  }

  /** Say something in the strip at the top until something else is said. */
  tell(key, values = {}) {
    this.notice = key ? [key, values] : null;
    this.#tick();
  }

  fail(error) {
    this.tell("not_kept", { why: error?.message ?? String(error) });
  }

  async keepForm(form) {
    this.form = form;
    await this.store.keep("form", form).catch((error) => this.fail(error));
  }

  async keepDraft(values) {
    this.draft = { ...this.draft, ...values };
    await this.store.keep("draft", this.draft).catch((error) => this.fail(error));
  }

  async begin() {
    if (this.busy || this.recorder.day) return;
    this.busy = true;
    try {
      this.persisted = (await navigator.storage?.persist?.()) ?? false;
      await this.recorder.begin(this.setup);
      await this.keepDraft({ counts: {}, reset: false, bed: this.setup.beds[0] ?? "", note: "" });
    } finally {
      this.busy = false;
    }
    this.screen.ask();
    this.tell(null);
    await this.show("field");
  }

  async end() {
    await this.recorder.end();
    await this.screen.release();
  }

  #tick() {
    this.#status?.update();
    this.live();
    const inputs = /** @type {HTMLFieldSetElement} */ (document.getElementById("inputs"));
    const moving = this.recorder.day !== null && this.recorder.motion.moving;
    if (inputs && inputs.disabled !== moving) inputs.disabled = moving;
  }

  #seen() {
    if (document.hidden) {
      this.#hidden = Date.now();
    } else if (this.recorder.day && this.#hidden) {
      const seconds = Math.round((Date.now() - this.#hidden) / 1000);
      if (seconds > 2) this.tell("was_hidden", { seconds });
      this.recorder.again();
    }
  }

  async #keepOffline() {
    try {
      await navigator.serviceWorker.register("worker.js");
      await navigator.serviceWorker.ready;
      this.offline = "yes";
    } catch {
      this.offline = "no";
    }
    this.#tick();
  }
}

/**
 * Brings the keyboard back to where it is now once the page is drawn anew: to the button or input
 * of the same name, else to the top.
 * @param {HTMLElement} place
 */
function keyboardIn(place) {
  /** @param {any} one */
  const nameOf = (one) => {
    const name = one?.getAttribute("aria-label") ?? one?.name;
    return name && `${name} ${one.type === "radio" ? one.value : ""}`;
  };
  const active = document.activeElement;
  const name = nameOf(active);
  if (!place.contains(active)) return () => {};
  return () => {
    /** @type {HTMLElement[]} */
    const all = [...place.querySelectorAll("button, input")].map((one) => /** @type {any} */ (one));
    const same = name && all.find((one) => nameOf(one) === name);
    (same || /** @type {HTMLElement} */ (place.querySelector("h1"))).focus({ preventScroll: true });
  };
}

/** Whether this window is the only one, so that nothing is recorded twice. */
function alone() {
  if (!navigator.locks) return Promise.resolve(true);
  return new Promise((answer) => {
    const patience = new AbortController();
    const waiting = setTimeout(() => patience.abort(), LOCK_WAIT_MS);
    navigator.locks
      .request("groundtruth-recorder", { signal: patience.signal }, () => {
        clearTimeout(waiting);
        answer(true);
        return new Promise(() => {}); // held until the window closes
      })
      .catch(() => answer(false));
  });
}

function stop(key, values) {
  const why = el("p", { class: "stopped", role: "alert" }, say(key, values));
  root.replaceChildren(el("main", {}, el("h1", {}, say("title")), why));
}

async function boot() {
  speak(usual());
  root.replaceChildren(el("p", { class: "stopped" }, say("loading")));
  let store;
  try {
    store = await openStore();
  } catch {
    stop("no_store");
    return;
  }
  const form = { ...emptyForm(usual()), ...(await store.kept("form")) };
  speak(form.language);
  if (!(await alone())) {
    stop("elsewhere");
    return;
  }
  await new App(store, form).start();
}

addEventListener("unhandledrejection", (event) => {
  stop("broken", { why: event.reason?.message ?? String(event.reason) });
});
boot();
