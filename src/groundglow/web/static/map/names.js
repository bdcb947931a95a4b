// Where the name of a zone stands: within the zone, as near to its middle as what lies on the map lets it.

import { bounds } from "./paper.js";

const ACROSS = 9;

/** Whether a place is in an area: even-odd over all of its rings. */
function within([x, y], geometry) {
  const rings = geometry.type === "Polygon" ? geometry.coordinates : geometry.type === "MultiPolygon" ? geometry.coordinates.flat() : [];
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
      const [[x1, y1], [x2, y2]] = [ring[i], ring[j]];
      if (y1 > y !== y2 > y && x < ((x2 - x1) * (y - y1)) / (y2 - y1) + x1) inside = !inside;
    }
  }
  return inside;
}

/** Places for a zone's name, best first: its middle, then what lies within it, then above and below it. */
export function places({ geometry }) {
  const [w, s, e, n] = bounds([{ geometry }]);
  const middle = [(w + e) / 2, (s + n) / 2];
  const tries = [];
  for (let i = 1; i < ACROSS; i += 1) for (let k = 1; k < ACROSS; k += 1) tries.push([w + (i * (e - w)) / ACROSS, s + (k * (n - s)) / ACROSS]);
  const away = ([x, y]) => Math.hypot((x - middle[0]) / (e - w || 1), (y - middle[1]) / (n - s || 1));
  const inside = tries.filter((t) => within(t, geometry)).sort((a, b) => away(a) - away(b));
  return [middle, ...inside, [middle[0], n + 0.06 * (n - s)], [middle[0], s - 0.06 * (n - s)]];
}

const overlap = (a, b) => Math.max(0, Math.min(a[2], b[2]) - Math.max(a[0], b[0])) * Math.max(0, Math.min(a[3], b[3]) - Math.max(a[1], b[1]));

/** Move names off boxes [left, top, right, bottom] of the screen, and off each other. */
export function clear(map, labels, boxes) {
  const taken = [...boxes];
  for (const { node, tries, marker } of labels) {
    const half = [node.offsetWidth / 2, node.offsetHeight / 2];
    let best = null;
    for (const at of tries) {
      const { x, y } = map.project(at);
      const box = [x - half[0], y - half[1], x + half[0], y + half[1]];
      const covered = taken.reduce((sum, t) => sum + overlap(box, t), 0);
      if (!best || covered < best.covered) best = { at, box, covered };
      if (!covered) break;
    }
    marker.setLngLat(best.at);
    taken.push(best.box);
  }
}
