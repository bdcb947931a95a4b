// The site of a job on its map, with names of zones.

import { get, of } from "../core/api.js";
import { el, put } from "../core/dom.js";
import { clear, places } from "./names.js";
import { areas, bounds, paper } from "./paper.js";

/** Names of zones as small labels; {clear(boxes)} moves them off what lies on the map. */
export function named({ map, library }, features) {
  const labels = features.filter((f) => f.properties?.name && f.geometry).map((f) => {
    const node = el("span", { class: "zone" }, f.properties.name);
    const tries = places(f);
    return { node, tries, marker: new library.Marker({ element: node }).setLngLat(tries[0]).addTo(map), name: f.properties.name };
  });
  for (const { node, name } of labels) { // the library calls each a button and a marker
    node.setAttribute("role", "img");
    node.setAttribute("aria-label", name);
  }
  return { clear: (boxes) => clear(map, labels, boxes) };
}

/** The map of a job's site; null (and a line that says so) when there is none. */
export async function siteMap(node, job) {
  const site = await get(of(job, "site"));
  const box = bounds(site.features);
  if (!box) {
    put(node, el("p", { class: "soft" }, "The brief has no outline of the site."));
    node.classList.remove("map");
    return null;
  }
  const made = await paper(node, { box, words: "Map of the site" });
  if (!made) return null;
  areas(made.map, "site", site.features);
  named(made, site.features);
  return { ...made, site };
}
