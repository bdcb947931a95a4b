// What a link asks for that is not there: it is said, and nothing is read in its place.

import { get, of, whole } from "../core/api.js";
import { el, one, put } from "../core/dom.js";
import { sentence } from "../core/say.js";

const shown = (name) => `“${name.slice(0, 100)}”`;

/** Why a flight's frame cannot be opened: it was set aside, or is none. */
export async function whyNot(job, flight, frame) {
  const aside = await whole(of(job, "flights", flight, "frames"), { used: false });
  const found = aside.find((f) => f.frame === frame);
  return found ? `${shown(frame)} of ${flight} is set aside: ${found.reason || "it is not used"}.` : `There is no frame ${shown(frame)} in ${flight}.`;
}

/** Why a flight cannot be opened. */
export const noFlight = (flight) => `There is no flight ${shown(flight)} in this job.`;

/** Say what is not there in place of everything else; `instead()` shows the first frame. */
export function absent(words, name, instead) {
  const parts = [...document.querySelectorAll("main > section")].filter((s) => !s.hidden);
  parts.forEach((s) => { s.hidden = true; });
  const first = el("button", { type: "button", onclick: () => {
    parts.forEach((s) => { s.hidden = false; });
    history.replaceState(null, "", location.pathname);
    one("#answer").textContent = "…";
    instead();
  } }, `Open ${name}`);
  put(one("#answer"), `${sentence(words)} Nothing is read.`, el("br"), first);
}

/** What of a link was left out, above the picture. */
export function leftOut(words) {
  const part = one("#left-out");
  part.hidden = false;
  part.append(...words.map((w) => el("p", {}, w)));
}

/** Frames of a flight that can be used, and what is told of the flight. */
export const flightOf = (job, key) => Promise.all([whole(of(job, "flights", key, "frames"), { used: true }), get(of(job, "flights", key))]);
