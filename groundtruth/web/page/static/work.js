// Long work: says that it goes on and for how long, and what was wrong where it fails.

import { Refused } from "./api.js";
import { byId, el } from "./dom.js";
import { say } from "./words.js";

/**
 * Do some work; says so in the element of an id. Returns null where it failed.
 * @param {string} words @param {string} where @param {() => Promise<any>} work
 * @param {(error: Refused, place: Element) => void} [trouble]
 */
export async function working(words, where, work, trouble) {
  const place = byId(where);
  place.querySelector(".trouble")?.remove();
  const line = el("p", { class: "working", role: "status" }, say(words));
  place.append(line);
  place.setAttribute("aria-busy", "true");
  const since = Date.now();
  const ticking = setInterval(() => {
    line.textContent = `${say(words)} ${Math.round((Date.now() - since) / 1000)} s`;
  }, 1000);
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    place.append(el("p", { class: "trouble", role: "alert" }, textOf(error)));
    if (trouble) trouble(error, place);
    return null;
  } finally {
    clearInterval(ticking);
    line.remove();
    place.removeAttribute("aria-busy");
  }
}

/** @param {Refused} error */
export function textOf(error) {
  if (error.status === 0) return say("trouble.away");
  if (error.status === 401) return say("kept.old");
  if (error.status === 413) return say("trouble.large");
  return error.message;
}

/** Show the typed cell or field that was refused. @param {Refused} error */
export function tellTrouble(error) {
  const { number, place, column, file } = error.said;
  const id =
    number !== null && number !== undefined
      ? `${column === "taped" ? "taped" : column === "start" ? "start" : "turns"}-${number}-${place}`
      : file === "run.toml" && column
        ? `machine-${column}`
        : "";
  const input = id && (byId(id) || byId(`crop-${column}-0`));
  if (!input) return;
  input.setAttribute("aria-invalid", "true");
  input.addEventListener("input", () => input.removeAttribute("aria-invalid"), { once: true });
  input.focus();
}
