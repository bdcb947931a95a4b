// The list of readings of a frame: worked out here at once, then told by the server, which alone states them.

import { of, post } from "../core/api.js";
import { line, band, room, sheet } from "../core/chart.js";
import { el, one, put, settled } from "../core/dom.js";
import { celsius, count, fixed } from "../core/say.js";
import { fromText, now, outside, region, UNNAMED } from "./shapes.js";

const COVERAGE = 1.96;
/** Readings that the server takes at once. */
const MOST = 50;

export class Readings {
  /** `heard`: `changed()` when the list changed, `chosen(reading)`. `where()` gives {job, flight, frame, live, said}. */
  constructor(where, heard) {
    Object.assign(this, { where, heard, all: [], asked: 0, pick: null });
    this.table = one("#readings");
    this.ask = settled(() => this.fromServer(), 350);
  }

  add(shape) {
    const label = this.free(shape.label || UNNAMED[shape.kind]);
    const reading = { ...shape, label, told: null, why: "" };
    this.all.push(reading);
    this.choose(reading);
    this.ask();
  }

  /** Take what a link holds; those that are no readings are given back. */
  take(texts) {
    return texts.filter((text) => {
      const shape = fromText(text);
      if (!shape) return true;
      this.pick = { ...shape, label: this.free(shape.label), told: null, why: "" };
      this.all.push(this.pick);
      this.all.forEach((r) => { r.chosen = r === this.pick; });
      return false;
    });
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
    this.asked += 1;
    this.all.forEach((r) => Object.assign(r, { told: null, why: "" }));
    this.show();
    if (this.all.length) this.ask();
  }

  async fromServer() {
    const { live } = this.where();
    if (!live) return;
    this.asked += 1;
    const mine = this.asked;
    const inside = this.all.filter((r) => !outside(live, r));
    const answers = [];
    for (let i = 0; i < inside.length; i += MOST) answers.push(...await this.told(inside.slice(i, i + MOST)));
    if (mine !== this.asked) return;
    answers.forEach(({ reading, ...told_ }) => Object.assign(reading, told_));
    this.show();
  }

  /** What the server says of some: {reading, told, why}. It knows them by number, so that a name may be anything. */
  async told(some) {
    const named = some.map((r, i) => ({ ...r, label: `#${i + 1}` }));
    const { job, flight, frame, said } = this.where(named);
    try {
      const { regions } = await post(of(job, "flights", flight, "frames", frame, "reading"), { regions: named.map(region), ...said });
      return regions.map((told_) => ({ reading: some[Number(told_.label.slice(1)) - 1], told: told_, why: "" }));
    } catch (error) {
      if (error.status === 422 && some.length > 1) return (await Promise.all(some.map((r) => this.told([r])))).flat();
      return some.map((reading) => ({ reading, told: null, why: error.message.replace(/^#1: /, "") }));
    }
  }

  show() {
    this.table.hidden = !this.all.length;
    put(one("tbody", this.table), this.all.map((r) => this.row(r)));
    put(one("#profile"), this.pick?.told?.profile ? profile(this.pick) : null);
  }

  row(r) {
    const cells = r.told ? told(r.told) : about(this.where().live, r);
    const name = el("button", { type: "button", class: "plain", "aria-pressed": String(r === this.pick), onclick: () => this.choose(r) }, r.label);
    const away = el("button", { type: "button", class: "plain", "aria-label": `Take ${r.label} away`, onclick: () => this.drop(r) }, "take away");
    return el("tr", { class: r === this.pick ? "chosen" : "" }, el("th", { scope: "row" }, name),
      cells.slice(0, 3).map((c) => el("td", { class: "number" }, c)), el("td", {}, r.why || cells[3]), el("td", {}, away));
  }
}

function about(live, shape) {
  const out = live ? outside(live, shape) : "no picture is open";
  if (out) return ["no temperature", "", "", out];
  const { mean, low, high, sdAt, n } = now(live, shape);
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
  const page = sheet({ width: room(), x: [0, xs.at(-1) || 1], y: [Math.min(...ends), Math.max(...ends)], xName: "pixels along the line", yName: `${label}, °C`, words: `Temperature along ${label}, from ${fixed(Math.min(...ends))} to ${fixed(Math.max(...ends))} °C with its 95 % band` });
  band(page, xs, p.low_c, p.high_c);
  line(page, xs, p.value_c);
  return el("figure", {}, page.root, el("figcaption", {}, `Along ${label}: value and 95 % interval of each pixel.`));
}
