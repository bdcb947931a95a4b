// Kits in words: what each would do, and why not.

import { svg, el } from "../core/dom.js";
import { count, fixed, percent } from "../core/say.js";

const TASKS = ["detect", "recognise", "identify"];
const metres = (m) => (m === null || m === undefined ? "not by this camera" : m <= 0 ? "not even close by" : `${fixed(m, m < 10 ? 1 : 0)} m`);

/** Words for a kit: {camera, lens, aircraft} by the names of the catalogue. */
export function nameOf(k, names) {
  const [camera, lens, aircraft] = [k.camera, k.lens, k.aircraft].map((id) => names.get(id) ?? id);
  return aircraft ? `${camera} with ${lens}, under ${aircraft}` : `${camera} with ${lens}`;
}

const DONE = { detect: "be detected", recognise: "be recognised", identify: "be identified", measure: "be measured" };

/** The answer in a sentence; from above the brief's limit it is no plain yes. */
export function said(found, names) {
  const { asked } = found;
  const [best] = found.fit;
  const over = found.over_limit ? `Not within the limits: ${found.over_limit}. ` : "";
  if (!best) return `${over}Not as asked: none of ${count(found.combinations, "kit")} would do. What is nearest to doing stands below.`;
  return `${over || "Yes: "}${over ? "From there " : ""}${asked.name} ${over ? "could" : "can"} ${DONE[asked.task]} with ${found.fit_count} of ${count(found.combinations, "kit")}; first: ${nameOf(best, names)}, from ${fixed(best.distance_m, 0)} m.`;
}

/** A list of kits, each to be opened. */
export function kits(list, names) {
  return list.length ? list.map((k) => kit(k, nameOf(k, names))) : el("p", { class: "soft" }, "None.");
}

function kit(k, name) {
  const head = k.fit
    ? `${fixed(k.ground_sampling_m * 100, 1)} cm a pixel from ${fixed(k.distance_m, 0)} m; ${outcome(k)}`
    : k.reasons.map((r) => r.words).join("; ");
  const title = el("strong", {}, k.rank ? `${k.rank}. ${name}` : name);
  return el("details", { class: "kit" }, el("summary", {}, title, el("br"), el("span", { class: "soft" }, head)), facts(k), k.hours?.length ? hours(k.hours) : null);
}

function outcome(k) {
  const p = TASKS.filter((task) => task in k.probability).map((task) => `${task} ${percent(k.probability[task])}`).join(", ");
  return k.interval_k === null ? p : `±${fixed(k.interval_k)} K, ${k.support}; ${p}`;
}

function facts(k) {
  const reach = k.reach_m;
  const pairs = [
    ["Reaches", `to detect ${metres(reach.detect)}, to recognise ${metres(reach.recognise)}, to identify ${metres(reach.identify)}, to measure ${metres(reach.measure)}`],
    ["On the target", `${fixed(k.pixels[0])} x ${fixed(k.pixels[1])} pixels; contrast ${fixed(k.contrast)} times noise and clutter`],
    ["In one frame", `${fixed(k.footprint_m[0], 0)} x ${fixed(k.footprint_m[1], 0)} m`],
    ["Speed", `${fixed(k.speed_m_s)} m/s, smear ${fixed(k.smear_px, 2)} pixels`],
    ["Through the air", percent(k.transmittance)],
    k.effort ? ["Effort", `${count(k.effort.flights, "flight")}, ${fixed(k.effort.seconds / 60, 0)} min in the air`] : null,
    k.price ? ["Price", `${k.price}`] : null,
    k.recording ? ["Records", `${k.recording}, ${fixed(k.frame_rate_hz, 0)} Hz`] : null,
    k.reasons.length ? ["Why not", k.reasons.map((r) => r.words).join("; ")] : null,
    k.place_of_use?.length ? ["Place of use", k.place_of_use.join("; ")] : null,
  ];
  return el("dl", { class: "facts" }, pairs.filter(Boolean).map(([a, b]) => [el("dt", {}, a), el("dd", {}, b)]));
}

/** The 24 hours of the local solar day; filled ones work. */
function hours(list) {
  const on = list.map((w, h) => (w ? h : -1)).filter((h) => h >= 0);
  const words = on.length ? `Works at ${on.map((h) => `${h} h`).join(", ")}` : "Works at no hour";
  const root = svg("svg", { class: "chart", viewBox: "0 0 600 42", role: "img", "aria-label": words });
  list.forEach((w, h) => root.append(
    svg("rect", { class: w ? "flight" : "none", x: 4 + 24.6 * h, y: 4, width: 22, height: 16, rx: 3 }),
    h % 3 ? "" : svg("text", { class: "quiet", x: 15 + 24.6 * h, y: 36, "text-anchor": "middle" }, `${h} h`),
  ));
  return root;
}

/** What is nearest to turning the answer, kit by kit, and what an upgrade would bring. */
export function changes(found, names) {
  const items = found.would_change.map((c) => el("li", {}, el("strong", { title: c.combination }, c.name ?? c.combination), `, which ${c.fit ? "does" : "does not do"}: `, c.changes.map((x) => x.words).join("; ")));
  const up = (found.upgrades ?? []).map((u) => el("li", {}, "From ", el("strong", { title: u.owned }, u.owned_name ?? u.owned), " to ", el("strong", { title: u.next }, u.next_name ?? u.next), `: buy ${u.new.map((id) => names.get(id) ?? id).join(", ")}${u.price ? `, ${u.price}` : ""}.`));
  return [items.length ? el("ul", {}, items) : el("p", { class: "soft" }, "Nothing near enough."), up.length ? [el("h3", {}, "From the kit you own"), el("ul", {}, up)] : null];
}
