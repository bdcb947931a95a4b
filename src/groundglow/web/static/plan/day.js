// One day: what the camera will read of a target against its surroundings, hour by hour, and the windows that work.

import { band, line, sheet } from "../core/chart.js";
import { el, svg } from "../core/dom.js";
import { signed } from "../core/say.js";

const clock = (iso) => `${iso.slice(11, 16)} UTC`;
const hour = (iso, first) => (Date.parse(iso) - first) / 3.6e6;

/** Chart and list of one answer. */
export function dayChart(found, name) {
  const first = Date.parse(found.times[0]);
  const xs = found.times.map((t) => hour(t, first));
  const all = [...found.contrast_k, ...found.low_k, ...found.high_k, 0].filter(Number.isFinite);
  const start = new Date(first);
  const from = start.getUTCHours() + start.getUTCMinutes() / 60;
  const ticks = Array.from({ length: 9 }, (_, i) => [3 * i, `${String(Math.floor(from + 3 * i) % 24).padStart(2, "0")} h`]).filter(([x]) => x <= xs.at(-1) + 1e-6);
  const words = found.windows.length ? `Works ${found.windows.map((w) => `from ${clock(w.start)} to ${clock(w.end)}`).join(", ")}` : "No window works that day";
  const page = sheet({ height: 280, x: [0, xs.at(-1)], y: [Math.min(...all), Math.max(...all)], xTick: ticks, xName: "UTC", yName: "read against its surroundings, K", words: `${name}. ${words}.` });
  for (const w of found.windows) {
    const [a, b] = [hour(w.start, first), hour(w.end, first)].map(page.across.at);
    page.root.prepend(svg("rect", { class: "good", x: a, width: Math.max(b - a, 1), y: 22, height: 218 }));
  }
  page.root.append(svg("line", { class: "ink", x1: page.across.start, x2: page.across.end, y1: page.up.at(0), y2: page.up.at(0) }));
  band(page, xs, found.low_k, found.high_k);
  line(page, xs, found.contrast_k);
  const items = found.windows.map((w) => el("li", {}, `${clock(w.start)} to ${clock(w.end)}, best ${clock(w.best)}: ${w.why ?? ""}`));
  return el("figure", {}, page.root, el("figcaption", {}, `${words}. The band is the 95 % interval; shaded hours work; at zero nothing shows. Best ${signed(Math.max(...found.contrast_k))} K.`), el("ul", {}, items), el("ul", { class: "soft" }, [...found.cautions, ...found.assumed].map((a) => el("li", {}, a))));
}
