// Small charts as SVG: axes with round numbers, lines with bands, bars. Colours come from the style sheet.

import { svg } from "./dom.js";
import { fixed } from "./say.js";

/** Round numbers within [low, high], at most `most` or so. */
export function steps(low, high, most = 5) {
  const raw = Math.max(high - low, 1e-12) / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= raw * (1 - 1e-9));
  const out = [];
  for (let k = Math.ceil(low / step - 1e-9); k <= Math.floor(high / step + 1e-9); k += 1) out.push(k * step);
  return out;
}

/** Values laid on the sheet: `at(value)`. */
export function axis(low, high, start, end) {
  const span = high - low || 1;
  return { low, high, start, end, at: (v) => start + ((v - low) / span) * (end - start) };
}

const decimals = (ticks) => (ticks.length > 1 ? Math.max(0, -Math.floor(Math.log10(Math.abs(ticks[1] - ticks[0])) + 1e-9)) : 1);

/** A sheet with both axes; `draw(sheet)` adds to it. `words` is read out in place of the picture. */
export function sheet({ width = 640, height = 240, x, y, xName, yName, words, xTick = null, left = 52 }) {
  const across = axis(x[0], x[1], left, width - 14);
  const up = axis(y[0], y[1], height - 40, 22);
  const root = svg("svg", { class: "chart", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words });
  const yTicks = steps(up.low, up.high, 4);
  for (const v of yTicks) {
    root.append(
      svg("line", { class: "axis", x1: across.start, x2: across.end, y1: up.at(v), y2: up.at(v) }),
      svg("text", { class: "quiet", x: across.start - 8, y: up.at(v) + 4, "text-anchor": "end" }, fixed(v, decimals(yTicks))),
    );
  }
  const xTicks = xTick ? xTick.map((t) => t[0]) : steps(across.low, across.high, width > 400 ? 8 : 5);
  xTicks.forEach((v, i) => root.append(
    svg("text", { class: "quiet", x: across.at(v), y: height - 22, "text-anchor": "middle" }, xTick ? xTick[i][1] : fixed(v, decimals(xTicks))),
  ));
  root.append(
    svg("text", { class: "quiet", x: across.end, y: height - 5, "text-anchor": "end" }, xName),
    svg("text", { class: "quiet", x: 4, y: 13 }, yName),
  );
  return { root, across, up };
}

/** "x,y x,y" of a polyline. */
export function path(points) {
  return points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
}

/** A line through finite points, broken where values are missing. */
export function line(page, xs, ys, kind = "lead") {
  let run = [];
  const flush = () => {
    if (run.length > 1) page.root.append(svg("polyline", { class: kind, points: path(run) }));
    run = [];
  };
  ys.forEach((y, i) => (y !== null && Number.isFinite(y) ? run.push([page.across.at(xs[i]), page.up.at(y)]) : flush()));
  flush();
}

/** The band between two curves. */
export function band(page, xs, low, high, kind = "band") {
  const ok = xs.map((_, i) => i).filter((i) => Number.isFinite(low[i]) && Number.isFinite(high[i]));
  if (ok.length < 2) return;
  const up = ok.map((i) => [page.across.at(xs[i]), page.up.at(high[i])]);
  const down = ok.map((i) => [page.across.at(xs[i]), page.up.at(low[i])]).reverse();
  page.root.append(svg("polygon", { class: kind, points: path([...up, ...down]) }));
}

/** Width of a chart that fits the page: type keeps its size on a phone. */
export function room() {
  const main = document.querySelector("main");
  const { paddingLeft, paddingRight } = getComputedStyle(main);
  return Math.min(640, Math.max(240, main.clientWidth - parseFloat(paddingLeft) - parseFloat(paddingRight)));
}

/** Bars from left to right, one a row: {name, value, text, kind}; names stand above them where there is little room. */
export function bars(rows, { words, width = room(), unit = "" }) {
  const above = width < 520;
  const [step, down, narrow] = above ? [42, 17, 0] : [26, 0, 250];
  const letters = above ? Math.floor(width / 6.6) : 38;
  const most = Math.max(...rows.map((r) => r.value), 1e-12);
  const across = axis(0, most, narrow, width - 90);
  const root = svg("svg", { class: "chart", viewBox: `0 0 ${width} ${rows.length * step + 4}`, role: "img", "aria-label": words });
  rows.forEach((r, i) => {
    const y = i * step + 5 + down;
    const name = above ? { x: 0, y: y - 5 } : { x: narrow - 8, y: y + 13, "text-anchor": "end" };
    root.append(
      svg("text", name, r.name.length > letters ? `${r.name.slice(0, letters - 1)}…` : r.name),
      svg("rect", { class: r.kind ?? "flight", x: narrow, y, width: Math.max(across.at(r.value) - narrow, 1), height: 16, rx: 2 }),
      svg("text", { class: "quiet", x: across.at(r.value) + 6, y: y + 13 }, r.text ?? `${fixed(r.value, 2)} ${unit}`),
    );
  });
  return root;
}
