// Places, areas and lines that somebody reads, under their own names; and their form in a link.

import { along, statistics } from "./scanline.js";

const FLAT = (corners) => corners.flat();

/** How the REST interface names a region. */
export function region({ kind, corners, label }) {
  return { kind, numbers: FLAT(corners), label };
}

/** Why a shape cannot be read in a picture: it reaches out of it; empty when it lies inside. */
export function outside({ width, height }, { corners }) {
  const out = corners.some(([c, r]) => !(c >= 0 && r >= 0 && c < width && r < height));
  return out ? `outside the picture, whose columns are 0 to ${width - 1} and rows 0 to ${height - 1}; nothing is read` : "";
}

/** Mean, least and greatest now, worked out here: {mean, low, high, n}; sd of the middle pixel goes with it. */
export function now(live, { kind, corners }) {
  const index = ([c, r]) => r * live.width + c;
  if (kind === "point") {
    const i = index(corners[0]);
    return { n: 1, mean: live.at(i), low: live.at(i), high: live.at(i), sdAt: live.sdAt(i) };
  }
  if (kind === "line") return ofList(live, along(corners[0], corners[1], live.width, live.height));
  const s = statistics(corners, live.width, live.height, (i) => live.at(i));
  return { ...s, sdAt: live.sdAt(index(middle(corners))) };
}

function ofList(live, list) {
  const values = list.map((i) => live.at(i)).filter(Number.isFinite);
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  return { n: values.length, mean, low: Math.min(...values), high: Math.max(...values), sdAt: live.sdAt(list[list.length >> 1]) };
}

/** Whole pixel in the middle of a shape. */
export function middle(corners) {
  const of = (k) => Math.round(corners.reduce((sum, c) => sum + c[k], 0) / corners.length);
  return [of(0), of(1)];
}

/** What a shape is called when nobody names it. */
export const UNNAMED = { point: "place", polygon: "area", line: "line" };

/** A shape as it stands in a link, and back; a name may hold the bars that part it from the rest. */
export const toText = (s) => `${s.label}|${s.kind}|${FLAT(s.corners).join(",")}`;

export function fromText(text) {
  const parts = text.split("|");
  const [kind, numbers] = parts.splice(-2);
  const flat = (numbers ?? "").split(",").map((n) => (/^\d+$/.test(n) ? Number(n) : NaN));
  const sound = { point: flat.length === 2, line: flat.length === 4, polygon: flat.length >= 6 && flat.length % 2 === 0 }[kind];
  if (!sound || flat.some(Number.isNaN)) return null;
  const corners = [];
  for (let i = 0; i + 1 < flat.length; i += 2) corners.push([flat[i], flat[i + 1]]);
  return { label: parts.join("|").trim().slice(0, 40) || UNNAMED[kind], kind, corners };
}
