// Which colours stand for which numbers: departure or temperature, the map, and how far it reaches.

import { get } from "../core/api.js";
import { signed, fixed, ZERO_CELSIUS } from "../core/say.js";
import { colourTable, strip } from "./paint.js";

/** The finite numbers of a sample, in order. */
function ordered(values) {
  const step = Math.max(1, Math.floor(values.length / 8000));
  const kept = new Float32Array(Math.ceil(values.length / step));
  let n = 0;
  for (let i = 0; i < values.length; i += step) if (Number.isFinite(values[i])) kept[n++] = values[i];
  return kept.subarray(0, n).sort();
}

/** The share-th smallest of ordered numbers. */
const quantile = (sorted, share) => (sorted.length ? sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] : 0);

export class Scale {
  static async load() {
    const { maps } = await get("/static/frame/colours.json");
    return new Scale(maps.map((m) => ({ ...m, table: colourTable(m.rgb) })));
  }

  constructor(maps) {
    Object.assign(this, { maps, kind: "departure", picked: {}, reach: 0, span: 5, low: 0, high: 1 });
  }

  /** Maps for what is shown. */
  get offered() {
    return this.maps.filter((m) => m.kind === this.kind);
  }

  /** The map in use: the one picked, or the one that suits the tone of the page. */
  get map() {
    const dark = document.documentElement.dataset.tone === "dark";
    return this.offered.find((m) => m.source === this.picked[this.kind]) ?? this.offered[this.kind === "departure" && dark ? 1 : 0];
  }

  /** Reach that suits a frame: nearly all of it, the rest saturates. */
  fit(live) {
    if (live.departure) {
      const around = ordered(live.departure);
      const far = Math.max(quantile(around, 0.99), -quantile(around, 0.01), 0.5);
      this.natural = { span: far };
    } else this.natural = { span: 1 };
    const all = ordered(live.value);
    this.natural.low = quantile(all, 0.005);
    this.natural.high = quantile(all, 0.995);
  }

  /** Paint a frame as set. */
  paint(view, live) {
    const factor = 2 ** this.reach;
    if (this.kind === "departure") {
      this.span = this.natural.span * factor;
      view.painter.departures(live, this.map.table, this.span);
    } else {
      const middle = (this.natural.low + this.natural.high) / 2;
      const half = Math.max(((this.natural.high - this.natural.low) / 2) * factor, 0.05);
      [this.low, this.high] = [middle - half, middle + half];
      view.painter.values(live, this.map.table, this.low, this.high);
    }
  }

  /** Words for both ends. */
  ends(unit) {
    if (this.kind === "departure") return [`${signed(-this.span, unit === "K" ? 1 : 0)} ${unit}`, `${signed(this.span, unit === "K" ? 1 : 0)} ${unit}`];
    if (unit === "counts") return [`${fixed(this.low, 0)} counts`, `${fixed(this.high, 0)} counts`];
    return [`${fixed(this.low - ZERO_CELSIUS)} °C`, `${fixed(this.high - ZERO_CELSIUS)} °C`];
  }

  legend(canvas) {
    strip(canvas, this.map.table);
  }
}
