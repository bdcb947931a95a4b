// Places, areas and lines that somebody reads, under their own names; and their form in a link.

import { along, statistics } from "./scanline.js";

const FLAT = (corners) => corners.flat();

/** How the REST interface names a region. */
export function region({ kind, corners, label }) {
  return { kind, numbers: FLAT(corners), label };
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

/** A shape as it stands in a link, and back. */
export const toText = (s) => `${s.label}|${s.kind}|${FLAT(s.corners).join(",")}`;

export function fromText(text) {
  const [label, kind, numbers] = text.split("|");
  const flat = (numbers ?? "").split(",").map(Number);
  const enough = { point: 2, line: 4, polygon: 6 }[kind];
  if (!enough || flat.length < enough || flat.some((v) => !Number.isInteger(v) || v < 0)) return null;
  const corners = [];
  for (let i = 0; i + 1 < flat.length; i += 2) corners.push([flat[i], flat[i + 1]]);
  return { label: label.slice(0, 40), kind, corners };
}
