// Keep the screen on: the lock is lost whenever the page is hidden, and is asked for again then.

/** `wanted` says whether recording goes on; `changed` is told whether the screen stays on. */
export class Screen {
  static offered = "wakeLock" in navigator;
  on = false;
  /** @type {WakeLock|null} */
  #lock = null;
  #asking = false;

  constructor(wanted, changed) {
    this.wanted = wanted;
    this.changed = changed;
    document.addEventListener("visibilitychange", () => this.ask());
    // some browsers give it only to a touch
    document.addEventListener("pointerup", () => this.ask());
  }

  async ask() {
    const held = this.#lock && !this.#lock.released;
    if (!Screen.offered || held || this.#asking || document.hidden || !this.wanted()) return;
    this.#asking = true;
    try {
      const lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => this.#tell());
      this.#lock = lock;
    } catch {
      this.#lock = null; // refused, as with an empty battery; asked again at the next touch
    } finally {
      this.#asking = false;
      this.#tell();
    }
  }

  async release() {
    await this.#lock?.release();
    this.#lock = null;
    this.#tell();
  }

  #tell() {
    this.on = Boolean(this.#lock && !this.#lock.released);
    this.changed();
  }
}
