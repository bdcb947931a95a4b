// The site of a job on its map, with names of zones.

import { get, of } from "../core/api.js";
import { el, put } from "../core/dom.js";
import { areas, bounds, paper } from "./paper.js";

/** Middle of a feature's outer ring, where its name is written. */
function middle(feature) {
  const box = bounds([feature]);
  return [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
}

/** Names of zones as small labels. */
export function named({ map, library }, features) {
  for (const f of features) {
    const name = f.properties?.name;
    if (!name || !f.geometry) continue;
    new library.Marker({ element: el("span", { class: "zone" }, name) }).setLngLat(middle(f)).addTo(map);
  }
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
