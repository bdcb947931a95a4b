// One day: what the camera will read of a target against its surroundings, hour by hour, and the windows that work.

import { band, line, sheet } from "../core/chart.js";
import { el, svg } from "../core/dom.js";
import { fixed, sentence, signed } from "../core/say.js";

const HOUR = 3.6e6;
const clock = (iso) => iso.slice(11, 16);

/** Chart and lists of one answer. */
export function dayChart(found, name) {
  const words = found.windows.length ? `Works ${found.windows.map((w) => `from ${clock(w.start)} to ${clock(w.end)}`).join(" and ")} UTC` : "No hour of that day works";
  const best = found.windows.map((w) => el("li", {}, `${clock(w.start)} to ${clock(w.end)} UTC, best at ${clock(w.best)} (${w.light}): ${signed(w.contrast_k)} K, give or take ${fixed(2 * w.contrast_sd_k)} K; ${fixed(w.contrast_to_noise, 0)} times noise and clutter`));
  const crossing = found.crossovers.map((c) => el("li", {}, `Nothing shows about ${clock(c.time)} UTC${c.standard_uncertainty_s ? `, give or take ${fixed(c.standard_uncertainty_s / 30, 0)} min` : ""}: target and surroundings are equally warm`));
  return [
    el("p", { class: "said" }, `${words}.`),
    el("figure", {}, chart(found, `${name}. ${words}.`), el("figcaption", {}, "What the camera reads of it against its surroundings, hour by hour, with the 95 % interval. Shaded: works. At zero nothing shows.")),
    best.length || crossing.length ? el("ul", {}, best, crossing) : null,
    closed(found),
    el("ul", { class: "soft" }, [...found.cautions, ...found.assumed].map((a) => el("li", {}, sentence(a)))),
  ];
}

function chart({ hours, windows }, words) {
  const first = Date.parse(hours[0].start);
  const at = (iso) => (Date.parse(iso) - first) / HOUR;
  const xs = hours.map((h) => at(h.start));
  const [low, mid, high] = ["low_k", "contrast_k", "high_k"].map((k) => hours.map((h) => h[k]));
  const all = [...low, ...mid, ...high, 0].filter(Number.isFinite);
  const from = new Date(first).getUTCHours();
  const ticks = xs.filter((x) => x % 3 === 0).map((x) => [x, `${String((from + x) % 24).padStart(2, "0")} h`]);
  const page = sheet({ height: 280, x: [0, xs.at(-1)], y: [Math.min(...all), Math.max(...all)], xTick: ticks, xName: "UTC", yName: "against its surroundings, K", words });
  const clip = (v) => Math.min(Math.max(page.across.at(v), page.across.start), page.across.end);
  for (const w of windows) {
    const [a, b] = [clip(at(w.start)), clip(at(w.end))];
    page.root.prepend(svg("rect", { class: "good", x: a, width: Math.max(b - a, 1), y: 22, height: 218 }));
  }
  page.root.append(svg("line", { class: "ink", x1: page.across.start, x2: page.across.end, y1: page.up.at(0), y2: page.up.at(0) }));
  band(page, xs, low, high);
  line(page, xs, mid);
  return page.root;
}

/** Why the other hours do not work, reason by reason. */
function closed({ hours }) {
  const by = new Map();
  for (const h of hours) for (const why of h.closed_by) by.set(why, [...(by.get(why) ?? []), clock(h.start)]);
  if (!by.size) return null;
  return el("details", {}, el("summary", {}, "Why the other hours do not work"), el("ul", {}, [...by].map(([why, at]) => el("li", {}, `${sentence(why)}: ${at.join(", ")}`))));
}
