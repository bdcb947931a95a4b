// The files of a plan that was only tried: made when asked for, by the writers of the planning step.

import { blob, save, tried } from "../core/api.js";
import { el, put } from "../core/dom.js";

const FILES = [
  ["card-tried.pdf", "Pilot’s card (PDF)"], ["plan-tried.kml", "KML"], ["plan-tried.gpx", "GPX"],
  ["plan-tried.geojson", "GeoJSON"], ["waypoints-tried.csv", "Waypoints (CSV)"],
];

/** What is shown is tried: say so, offer its files and the way back. */
export function takeTried(node, body, back) {
  const says = el("span", { class: "says", role: "status" });
  const have = async (name) => {
    says.textContent = "Being made …";
    const made = await tried(() => blob(`/api/plan/try/${name}`, body));
    says.textContent = made ? "" : "It could not be made.";
    if (made) save(made, name);
  };
  const buttons = FILES.map(([name, words]) => el("button", { type: "button", onclick: () => have(name) }, words));
  put(node,
    el("h3", {}, "Files of the plan tried here"),
    el("p", { class: "soft" }, "Shown above is a plan tried on this page. The job keeps its own; this one is gone when the page is left."),
    el("p", { class: "buttons" }, buttons, says),
    back ? el("p", { class: "buttons" }, el("button", { type: "button", class: "plain", onclick: back }, "Back to the plan as the job has it")) : null);
}
