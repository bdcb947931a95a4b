// What a plan flies over: the features of its own file or of the site, and the one area whose corners are in hand.

import { area } from "../map/draw.js";

const isSurvey = (f) => (f.properties?.use ?? "survey") === "survey";

/** Features with each part of a MultiPolygon by itself. */
function parts(features) {
  return features.flatMap((f) => (f.geometry?.type === "MultiPolygon" ? f.geometry.coordinates.map((coordinates) => ({ ...f, geometry: { type: "Polygon", coordinates } })) : [f]));
}

/** Names of what can be flown. */
export const zonesOf = (features) => [...new Set(features.filter(isSurvey).map((f) => f.properties?.name).filter(Boolean))];

/** The areas that are flown, of one zone or of all, and what lies beside them: no-fly, take-off, lines. */
function split(features, zone) {
  const all = parts(features);
  const flown = all.filter((f) => isSurvey(f) && (!zone || f.properties?.name === zone));
  return { areas: flown.filter((f) => f.geometry?.type === "Polygon"), beside: all.filter((f) => !isSurvey(f)) };
}

/** Corners of the first area that is flown; none for a line or a point. */
export const ringOf = (features, zone) => split(features, zone).areas[0]?.geometry.coordinates[0].slice(0, -1) ?? [];

/** GeoJSON with that area's corners moved; its holes, the other areas flown, and what lies beside stay. */
export function moved(features, zone, ring) {
  const { areas: [first, ...others], beside } = split(features, zone);
  const drawn = area(ring, "flown");
  drawn.geometry.coordinates.push(...(first?.geometry.coordinates.slice(1) ?? []));
  return { type: "FeatureCollection", features: [drawn, ...others, ...beside] };
}
