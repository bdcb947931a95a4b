// A plan in words and tables.

import { el, wide } from "../core/dom.js";
import { count, fixed, percent } from "../core/say.js";

/** The plan in a sentence. */
export function sentenceOf(plan) {
  const met = plan.met ? "It covers the site as asked" : "It falls short of what was asked";
  return `${count(plan.lines.length, "line")} at ${fixed(plan.height_m, 0)} m, ${count(plan.frames, "frame")}, ${fixed(plan.seconds / 60, 0)} min in the air in ${count(plan.sorties.length, "sortie")}. ${met}.`;
}

const called = (plan, id) => plan.names?.[id] ?? id;

/** Names of camera, lens and aircraft; their ids, by which a brief calls them, beside them. */
function kit(plan) {
  const names = plan.kit.split(" + ").map((id) => called(plan, id)).join(", ");
  return names === plan.kit ? names : [names, el("span", { class: "soft small" }, ` (${plan.kit})`)];
}

/** Coverage as proved from the planned poses, and what is not met. */
export function proof(plan) {
  const p = plan.proof;
  const seen = p ? Object.entries(p.seen).map(([n, share]) => `${percent(share, 1)} by ${n}`).join(", ") : "";
  const pairs = [
    ["Flies", plan.flies],
    ["Kit", kit(plan)],
    ["Height", `${fixed(plan.height_m)} m, ${fixed(100 * plan.sampling_m)} cm a pixel`],
    ["Speed", `${fixed(plan.speed_m_s)} m/s, ${fixed(plan.smear_px, 2)} pixels of lag`],
    ["Lines", `heading ${fixed(plan.heading_deg, 0)}°, ${fixed(plan.spacing_m)} m apart, a frame every ${fixed(plan.base_m)} m or ${fixed(plan.interval_s)} s; ${plan.length_m < 1000 ? `${fixed(plan.length_m, 0)} m` : `${fixed(plan.length_m / 1000)} km`}, ${plan.storage_bytes < 1e9 ? `${fixed(plan.storage_bytes / 1e6, 0)} MB` : `${fixed(plan.storage_bytes / 1e9)} GB`}`],
    p ? ["Seen", `${seen} or more frames; lines ${fixed(p.above_ground_m[0], 0)} to ${fixed(p.above_ground_m[1], 0)} m above ground`] : null,
  ];
  return [
    el("dl", { class: "facts" }, pairs.filter(Boolean).map(([a, b]) => [el("dt", {}, a), el("dd", {}, b)])),
    plan.unmet.map((u) => el("p", { class: "note fault" }, `Not met: ${u}`)),
    [...plan.notes, ...plan.cautions].length ? el("ul", { class: "soft" }, [...plan.notes, ...plan.cautions].map((n) => el("li", {}, n))) : null,
  ];
}

const COLUMNS = ["Sortie", "Day", "Take-off", "Aircraft", "Lines", "Minutes", "of", "Frames"];

/** One row a sortie. */
export function sorties(plan) {
  const row = (s) => [s.sortie, s.day, s.take_off, el("span", { title: s.aircraft }, called(plan, s.aircraft)), s.lines.length, fixed(s.duration_s / 60), fixed(s.available_s / 60), s.frames];
  return wide("Sorties", el("table", {}, el("thead", {}, el("tr", {}, COLUMNS.map((c) => el("th", { scope: "col" }, c)))), el("tbody", {}, plan.sorties.map((s) => el("tr", {}, row(s).map((v) => el("td", {}, v instanceof Node ? v : String(v))))))));
}
