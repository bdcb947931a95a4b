// A frame with what is known of it, and what somebody tries instead. Values are the server's own, moved by as much as
// the table says; untouched, nothing is moved.
// A frame in counts without a calibration has no table, and so no temperature: it is shown as it is.

import { temperatures, uncertainty } from "./again.js";

const CODES = 65536;
const COVERAGE = 1.96;

/** Least and greatest code that is a signal. */
function extent(signal) {
  let low = CODES - 1;
  let high = 1;
  for (let i = 0; i < signal.length; i += 1) {
    const c = signal[i];
    if (c === 0) continue;
    if (c < low) low = c;
    if (c > high) high = c;
  }
  return low > high ? [1, 1] : [low, high];
}

/** Surfaces of a frame; one for all of it when the brief names none. The sky above is the same for all. */
function surfacesOf(frame, table) {
  if (!table) return [{ name: "all of it" }];
  const { emissivity, reflected_k: reflected } = table.at;
  const named = frame.surface && frame.surfaces.length ? frame.surfaces : [{ name: "all of it", emissivity }];
  return named.map((s) => ({ ...s, reflected_k: reflected }));
}

export class Live {
  /** `why`: why there is no table, in the server's words. */
  constructor(frame, table, why = "") {
    this.why = why;
    Object.assign(this, frame, { table, known: table, width: frame.columns, height: frame.rows, missing: 0xff808080 });
    this.scale = frame.scales.signal;
    this.unit = table ? "K" : this.scale.unit;
    this.surfaces = surfacesOf(frame, table);
    this.extent = extent(frame.signal);
    this.key = this.keys(table ? frame.surface : null);
    this.shown = table ? [...new Set(frame.surface ?? [0])] : [];
    this.before = new Float32Array(this.surfaces.length * CODES);
    this.move = new Float32Array(this.surfaces.length * CODES);
    this.now = new Float32Array(this.surfaces.length * CODES);
    this.said = { emissivity: null, reflected_k: null, surface: -1 };
    this.shown.forEach((k) => temperatures(table, this.scale, this.extent, this.surfaces[k].emissivity, this.surfaces[k].reflected_k, this.before, k * CODES));
    this.value ??= this.fromTable();
    if (this.departure) this.around = this.surroundings();
  }

  /** Surface and code of each pixel as one index. */
  keys(surface) {
    const key = new Uint32Array(this.signal.length);
    for (let i = 0; i < key.length; i += 1) key[i] = (surface ? surface[i] : 0) * CODES + this.signal[i];
    return key;
  }

  fromTable() {
    if (!this.table) return Float32Array.from(this.signal, (c) => (c === 0 ? NaN : this.scale.add + this.scale.scale * c));
    return Float32Array.from(this.key, (k) => (k % CODES === 0 ? NaN : this.before[k]));
  }

  /** The same index for each pixel's surroundings: the code that reads as much as its departure less. */
  surroundings() {
    const out = new Uint32Array(this.key.length);
    const [first, last] = this.extent;
    for (let i = 0; i < out.length; i += 1) {
      const code = this.signal[i];
      const start = this.key[i] - code;
      const near = Math.min(Math.max(code, first + 8), last - 8);
      const slope = (this.before[start + near + 8] - this.before[start + near - 8]) / 16;
      const c = slope > 0 ? code - this.departure[i] / slope : code;
      out[i] = start + Math.round(Math.min(Math.max(c, first), last)) || start + code;
    }
    return out;
  }

  /** What holds for a surface: as known, unless it is the one that is tried otherwise. */
  of(k) {
    const s = this.surfaces[k];
    const tried = this.said.surface < 0 || this.said.surface === k;
    return {
      emissivity: tried && this.said.emissivity !== null ? this.said.emissivity : s.emissivity,
      reflected_k: tried && this.said.reflected_k !== null ? this.said.reflected_k : s.reflected_k,
    };
  }

  get untouched() {
    return this.said.emissivity === null && this.said.reflected_k === null && this.table === this.known;
  }

  /** Try something: {emissivity, reflected_k, surface, table}. */
  try(said, table = this.table) {
    this.said = { ...this.said, ...said };
    this.table = table;
    if (this.untouched) {
      this.move.fill(0);
      return;
    }
    const [first, last] = this.extent;
    this.shown.forEach((k) => {
      const { emissivity, reflected_k: reflected } = this.of(k);
      const start = k * CODES;
      temperatures(table, this.scale, this.extent, emissivity, reflected, this.now, start);
      for (let c = start + first; c <= start + last; c += 1) this.move[c] = this.now[c] - this.before[c];
    });
  }

  /** Number of the surface at a [column, row]. */
  surfaceAt([column, row]) {
    return (this.key[row * this.width + column] / CODES) | 0;
  }

  /** K (or counts) at a pixel. */
  at(i) {
    return this.value[i] + this.move[this.key[i]];
  }

  /** Departure from the surroundings at a pixel, or NaN. */
  departs(i) {
    return this.departure ? this.departure[i] + this.move[this.key[i]] - this.move[this.around[i]] : NaN;
  }

  /** Standard uncertainty at a pixel, K: the server's, scaled by how the table's own changes. */
  sdAt(i) {
    if (!this.table) return NaN;
    const k = (this.key[i] / CODES) | 0;
    const apparent = this.scale.add + this.scale.scale * this.signal[i];
    const sd = (table, { emissivity, reflected_k: r }) => uncertainty(table, apparent, emissivity, r);
    const before = sd(this.known, this.surfaces[k]);
    const now = this.untouched ? before : sd(this.table, this.of(k));
    return this.sd ? (this.sd[i] * now) / before : now;
  }

  /** Everything about one pixel. */
  reading(column, row) {
    const i = row * this.width + column;
    const value = this.at(i);
    const mask = this.mask?.[i] ?? 0;
    const surface = this.surfaces[(this.key[i] / CODES) | 0];
    if (!this.table) return { column, row, value, unit: this.unit, departs: this.departs(i), why: this.unit === "counts" ? "counts without calibration: no temperature can be stated" : `no surface temperature: ${this.why}` };
    if (mask || !Number.isFinite(value)) return { column, row, value: NaN, unit: "K", why: this.mask_words?.[mask] ?? "no surface temperature gives this signal", surface };
    const half = COVERAGE * this.sdAt(i);
    return { column, row, value, low: value - half, high: value + half, departs: this.departs(i), unit: "K", surface };
  }
}

