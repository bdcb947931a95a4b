// How many frames show each part of the site, under the lines: areas, or dots along a line, at a point, on a face.

import { el, one, put } from "../core/dom.js";
import { colour, lay } from "../map/paper.js";

/** Strength of each class after "unseen", which has a colour of its own. */
const STRENGTH = [0.4, 0.1, 0.22, 0.36];

function inks() {
  const ink = ["case", ["==", ["get", "seen"], 0], colour("bad"), colour("flight")];
  const strength = ["match", ["get", "seen"], 0, STRENGTH[0], 1, STRENGTH[1], 2, STRENGTH[2], STRENGTH[3]];
  return { ink, strength };
}

/** Layers for it, above the site's areas. */
export function cover({ map }) {
  const { ink, strength } = inks();
  lay(map, "seen", []);
  map.addLayer({ id: "seen-fill", type: "fill", source: "seen", filter: ["==", "$type", "Polygon"], paint: { "fill-color": ink, "fill-opacity": strength, "fill-antialias": false } });
  map.addLayer({ id: "seen-dot", type: "circle", source: "seen", filter: ["==", "$type", "Point"], paint: { "circle-color": ink, "circle-opacity": ["+", 0.35, strength], "circle-radius": 5 } });
}

/** Show it, with its key; nothing when there is no map. */
export function seen(made, found) {
  if (!made) return;
  lay(made.map, "seen", found.features);
  const present = new Set(found.features.map((f) => f.properties.seen));
  const key = one("#seen-key");
  key.hidden = !present.size;
  put(key, "Frames that show it: ", found.classes.map((words, i) => (present.has(i) ? el("span", { class: `key seen-${i}` }, words) : null)));
}
