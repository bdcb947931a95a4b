// The list of readings of a frame: worked out here at once, then told by the server, which alone states them.

import { of, post } from "../core/api.js";
import { line, band, sheet } from "../core/chart.js";
import { el, one, put, settled } from "../core/dom.js";
import { celsius, count, fixed } from "../core/say.js";
import { now, region } from "./shapes.js";

const COVERAGE = 1.96;

export class Readings {
  /** `heard`: `changed()` when the list changed, `chosen(reading)`. `where()` gives {job, flight, frame, live, said}. */
  constructor(where, heard) {
    Object.assign(this, { where, heard, all: [], asked: 0, pick: null });
    this.table = one("#readings");
    this.ask = settled(() => this.fromServer(), 350);
  }

  add(shape) {
    const label = this.free(shape.label || { point: "place", polygon: "area", line: "line" }[shape.kind]);
    const reading = { ...shape, label, told: null, why: "" };
    this.all.push(reading);
    this.choose(reading);
    this.ask();
  }

  /** A label that no other reading has. */
  free(label) {
    const taken = new Set(this.all.map((r) => r.label));
    if (!taken.has(label)) return label;
    let n = 2;
    while (taken.has(`${label} ${n}`)) n += 1;
    return `${label} ${n}`;
  }

  choose(reading) {
    this.pick = reading;
    this.all.forEach((r) => { r.chosen = r === reading; });
    this.show();
    this.heard.changed();
    this.heard.chosen(reading);
  }

  drop(reading) {
    this.all = this.all.filter((r) => r !== reading);
    this.choose(this.pick === reading ? this.all.at(-1) ?? null : this.pick);
  }

  /** Something was moved: show what follows at once, ask the server when it rests. */
  moved() {
    this.all.forEach((r) => { r.told = null; });
    this.show();
    if (this.all.length) this.ask();
  }

  async fromServer() {
    if (!this.all.length) return;
    const { job, flight, frame, said } = this.where(this.all);
    this.asked += 1;
    const mine = this.asked;
    const body = { regions: this.all.map(region), ...said };
    try {
      const told = await post(of(job, "flights", flight, "frames", frame, "reading"), body);
      if (mine !== this.asked) return;
      told.regions.forEach((r) => {
        const reading = this.all.find((a) => a.label === r.label);
        if (reading) Object.assign(reading, { told: r, why: "" });
      });
    } catch (error) {
      this.all.forEach((r) => { r.why = error.message; });
    }
    this.show();
  }

  show() {
    this.table.hidden = !this.all.length;
    put(one("tbody", this.table), this.all.map((r) => this.row(r)));
    put(one("#profile"), this.pick?.told?.profile ? profile(this.pick) : null);
  }

  row(r) {
    const cells = r.told ? told(r.told) : about(now(this.where().live, r));
    const name = el("button", { type: "button", class: "plain", "aria-pressed": String(r === this.pick), onclick: () => this.choose(r) }, r.label);
    const away = el("button", { type: "button", class: "plain", "aria-label": `Take ${r.label} away`, onclick: () => this.drop(r) }, "take away");
    return el("tr", { class: r === this.pick ? "chosen" : "" }, el("th", { scope: "row" }, name),
      cells.slice(0, 3).map((c) => el("td", { class: "number" }, c)), el("td", {}, r.why || cells[3]), el("td", {}, away));
  }
}

function about({ mean, low, high, sdAt, n }) {
  if (!Number.isFinite(sdAt)) return ["no temperature", "", "", "asking …"];
  const half = COVERAGE * sdAt;
  return [`about ${celsius(mean)} °C`, `about ${celsius(mean - half)} to ${celsius(mean + half)} °C`, n > 1 ? `${celsius(low)} to ${celsius(high)} °C` : "", "asking …"];
}

function told(r) {
  const spread = r.pixels > 1 && Number.isFinite(r.least_c) ? `${fixed(r.least_c)} to ${fixed(r.greatest_c)} °C` : "";
  if (!r.reading) return ["no temperature", "", spread, r.reason];
  const { value_c: value, low_c: low, high_c: high } = r.reading;
  const end = (v, words) => (v === null ? words : fixed(v));
  const of_ = [r.surface === "surface" ? "as tried" : r.surface, count(r.pixels, "pixel")].filter(Boolean).join(", ");
  return [`${fixed(value)} °C`, `${end(low, "open")} to ${end(high, "open")} °C`, spread, `${r.support}: ${r.reason} (${of_})`];
}

/** A line's values with their band. */
function profile({ label, told: { profile: p } }) {
  const xs = p.column.map((c, i) => Math.hypot(c - p.column[0], p.row[i] - p.row[0]));
  const ends = [...p.low_c, ...p.high_c, ...p.value_c].filter((v) => v !== null && Number.isFinite(v));
  if (!ends.length) return el("p", { class: "soft" }, `${label}: no temperature along this line.`);
  const page = sheet({ x: [0, xs.at(-1) || 1], y: [Math.min(...ends), Math.max(...ends)], xName: "pixels along the line", yName: `${label}, °C`, words: `Temperature along ${label}, from ${fixed(Math.min(...ends))} to ${fixed(Math.max(...ends))} °C with its 95 % band` });
  band(page, xs, p.low_c, p.high_c);
  line(page, xs, p.value_c);
  return el("figure", {}, page.root, el("figcaption", {}, `Along ${label}: value and 95 % interval of each pixel.`));
}
