// A frame with what is known of it, and what somebody tries instead. Values are the server's own, moved by as much as
// the table says; untouched, nothing is moved.
// A frame that is measured comes with its values; what was recorded of it follows.
// A frame in counts without a calibration has no table, and so no temperature: it is shown as it is.
// What is needed only to move something is worked out when something is first moved.

import { temperatures, uncertainty } from "./again.js";

const CODES = 65536;
const COVERAGE = 1.96;

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
    this.said = { emissivity: null, reflected_k: null, surface: -1 };
    this.kept = null;
    this.waits = null;
    this.surfaces = surfacesOf(frame, table);
    if (frame.signal) this.record(frame);
    this.unit = table ? "K" : frame.unit || this.scale.unit;
    this.shown = table ? frame.surfaces_shown ?? [0] : [];
    this.value ??= this.fromTable();
  }

  /** What was recorded of the frame: it may come after the values, and something may have been tried before. */
  record({ signal, scales, codes }) {
    Object.assign(this, { signal, scale: scales.signal, extent: codes ?? [1, 1] });
    if (this.waits) this.try(...this.waits);
    this.waits = null;
  }

  /** Place in `surfaces` of a pixel. */
  surfaceOf(i) {
    return this.table && this.surface ? this.surface[i] : 0;
  }

  /** Surface and code of a pixel as one index. */
  keyAt(i) {
    return this.surfaceOf(i) * CODES + this.signal[i];
  }

  /** Tables by key, K, as known (`before`), as tried (`now`) and their difference (`move`); keys of pixels and of their surroundings. */
  get moving() {
    if (this.kept) return this.kept;
    const made = { key: new Uint32Array(this.signal.length), around: null };
    for (let i = 0; i < made.key.length; i += 1) made.key[i] = this.keyAt(i);
    for (const name of ["before", "now", "move"]) made[name] = new Float32Array(this.surfaces.length * CODES);
    this.shown.forEach((k) => temperatures(this.known, this.scale, this.extent, this.surfaces[k].emissivity, this.surfaces[k].reflected_k, made.before, k * CODES));
    if (this.departure) made.around = this.surroundings(made);
    this.kept = made;
    return made;
  }

  fromTable() {
    if (!this.table) return Float32Array.from(this.signal, (c) => (c === 0 ? NaN : this.scale.add + this.scale.scale * c));
    const { key, before } = this.moving;
    return Float32Array.from(key, (k) => (k % CODES === 0 ? NaN : before[k]));
  }

  /** Keys of the surroundings: of the code that reads as much as a pixel's departure less. */
  surroundings({ key, before }) {
    const out = new Uint32Array(key.length);
    const [first, last] = this.extent;
    for (let i = 0; i < out.length; i += 1) {
      const code = this.signal[i];
      const start = key[i] - code;
      const near = Math.min(Math.max(code, first + 8), last - 8);
      const slope = (before[start + near + 8] - before[start + near - 8]) / 16;
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
    if (!this.signal) {
      this.waits = [{ ...this.waits?.[0], ...said }, table];
      return;
    }
    this.said = { ...this.said, ...said };
    this.table = table;
    if (this.untouched) {
      this.kept?.move.fill(0);
      return;
    }
    const { before, now, move } = this.moving;
    const [first, last] = this.extent;
    this.shown.forEach((k) => {
      const { emissivity, reflected_k: reflected } = this.of(k);
      const start = k * CODES;
      temperatures(table, this.scale, this.extent, emissivity, reflected, now, start);
      for (let c = start + first; c <= start + last; c += 1) move[c] = now[c] - before[c];
    });
  }

  /** Number of the surface at a [column, row]. */
  surfaceAt([column, row]) {
    return this.surfaceOf(row * this.width + column);
  }

  /** K (or counts) at a pixel. */
  at(i) {
    return this.value[i] + (this.untouched ? 0 : this.moving.move[this.keyAt(i)]);
  }

  /** Departure from the surroundings at a pixel, or NaN. */
  departs(i) {
    if (!this.departure || this.untouched) return this.departure?.[i] ?? NaN;
    const { move, around } = this.moving;
    return this.departure[i] + move[this.keyAt(i)] - move[around[i]];
  }

  /** Standard uncertainty at a pixel, K: the server's, scaled by how the table's own changes. */
  sdAt(i) {
    if (!this.table) return NaN;
    if (this.sd && this.untouched) return this.sd[i];
    const k = this.surfaceOf(i);
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
    const surface = this.surfaces[this.surfaceOf(i)];
    if (!this.table) return { column, row, value, unit: this.unit, departs: this.departs(i), why: this.unit === "counts" ? "counts without calibration: no temperature can be stated" : `no surface temperature: ${this.why}` };
    if (mask || !Number.isFinite(value)) return { column, row, value: NaN, unit: "K", why: this.mask_words?.[mask] ?? "no surface temperature gives this signal", surface };
    const half = COVERAGE * this.sdAt(i);
    return { column, row, value, low: value - half, high: value + half, departs: this.departs(i), unit: "K", surface };
  }
}

