// What a temperature hangs on, to be moved: emissivity and surroundings are worked out here, the air by the server.

import { el, one, put } from "../core/dom.js";
import { fixed, ZERO_CELSIUS } from "../core/say.js";
import { middle } from "./shapes.js";

// name, words, unit, least, greatest, step, decimals, place in `said` of a reading; the first two are worked out here
const ALL = [
  ["emissivity", "Emissivity", "", 0.1, 1, 0.01, 2],
  ["reflected_c", "Reflected temperature", "°C", -80, 60, 1, 0],
  ["air_c", "Air temperature", "°C", -30, 50, 0.5, 1],
  ["humidity_pct", "Humidity of the air", "%", 5, 100, 1, 0],
  ["distance_m", "Distance", "m", 1, 400, 1, 0],
  ["cloud", "Cloud (0 clear, 1 overcast)", "", 0, 1, 0.05, 2],
];
const HERE = ["emissivity", "reflected_c"];

export class Sliders {
  /** `moved(said, air)`: said for the browser's own work, air for the server's table (null when untouched). */
  constructor(moved) {
    this.moved = moved;
    this.set = {};
    this.surface = -1;
    this.inputs = Object.fromEntries(ALL.map((a) => [a[0], this.build(a)]));
    one("#as-known").addEventListener("click", () => this.back());
    one("#surface").addEventListener("change", (e) => {
      this.surface = Number(e.target.value);
      this.place();
      this.tell("emissivity");
    });
  }

  build([name, words, unit, min, max, step, decimals]) {
    const id = `try-${name.replace("_", "-")}`;
    const input = el("input", { type: "range", id, min, max, step });
    const output = el("output", { for: id });
    const says = (v, known) => { output.textContent = `${fixed(v, decimals)} ${unit}`.trim() + (known ? "" : " *"); };
    input.addEventListener("input", () => {
      this.set[name] = Number(input.value);
      says(this.set[name], false);
      this.tell(name);
    });
    one("#sliders").append(el("div", { class: "slider" }, el("label", { for: id }, words), input, output));
    return { input, says };
  }

  /** A frame was opened: what the job knows of it. Gives back in words what cannot be tried on it. */
  known(live) {
    this.live = live;
    if (!live.table) return "";
    const gone = this.surface >= live.surfaces.length ? `Surface ${this.surface} is not in this frame, which has ${live.surfaces.length}, from 0; nothing is tried.` : "";
    if (gone) Object.assign(this, { set: {}, surface: -1 });
    const named = live.surfaces.map((s, k) => el("option", { value: k, selected: k === this.surface }, `only what is ${s.name}`));
    put(one("#surface"), el("option", { value: -1, selected: this.surface < 0 }, "everything in the picture"), named);
    this.place();
    return gone;
  }

  /** What the sliders stand at when nobody moved them. */
  start(name) {
    const { at } = this.live.known;
    const main = this.surface < 0 ? null : this.live.surfaces[this.surface];
    if (name === "emissivity") return main ? main.emissivity : at.emissivity;
    if (name === "reflected_c") return (main ? main.reflected_k : at.reflected_k) - ZERO_CELSIUS;
    return at[name];
  }

  place() {
    for (const [name, { input, says }] of Object.entries(this.inputs)) {
      const v = this.set[name] ?? this.start(name);
      input.disabled = v === null || v === undefined;
      if (input.disabled) continue;
      input.value = v;
      says(v, this.set[name] === undefined);
    }
  }

  /** For the browser's own work. */
  here() {
    const { emissivity = null, reflected_c: r = null } = this.set;
    return { emissivity, reflected_k: r === null ? null : r + ZERO_CELSIUS, surface: this.surface };
  }

  /** For the server's table; null when the air is as known. */
  air() {
    const kept = Object.entries(this.set).filter(([name]) => !HERE.includes(name));
    return kept.length ? Object.fromEntries(kept) : null;
  }

  tell(name) {
    this.moved(this.here(), this.air(), !HERE.includes(name));
  }

  /** Work out a newly opened frame as tried before; `fetchTable(air)` asks for the air that is tried. */
  async again(live, fetchTable) {
    if (!live.table) return;
    const air = this.air();
    live.try(this.here(), air ? await fetchTable(air) : live.table);
  }

  back() {
    this.set = {};
    this.place();
    this.moved(this.here(), null, false);
  }

  /** As a reading asks the server. What holds for one surface only is said of the labels that show it. */
  said(live, shapes = []) {
    const all = Object.entries(this.set);
    if (!all.length) return {};
    if (this.surface < 0) return { said: Object.fromEntries(all) };
    const own = Object.fromEntries(all.filter(([name]) => HERE.includes(name)));
    const air = Object.fromEntries(all.filter(([name]) => !HERE.includes(name)));
    const showing = shapes.filter((s) => live.surfaceAt(middle(s.corners)) === this.surface);
    return { said: air, by_label: Object.fromEntries(showing.map((s) => [s.label, { ...air, ...own }])) };
  }

  inLink() {
    const said = Object.entries(this.set).map(([k, v]) => [k, String(v)]);
    return said.length && this.surface >= 0 ? [...said, ["surface", String(this.surface)]] : said;
  }

  /** Take what a link tries; what is not within reach of its slider is given back in words, and not tried. */
  fromLink(asked) {
    const refused = [];
    for (const [name, words, unit, least, most, , decimals] of ALL.filter(([n]) => asked.has(n))) {
      const text = asked.get(name);
      const value = text.trim() ? Number(text) : NaN;
      if (value >= least && value <= most) this.set[name] = value;
      else refused.push(`${words} “${text.slice(0, 40)}” is not tried: it has to lie between ${fixed(least, decimals)} and ${fixed(most, decimals)}${unit ? ` ${unit}` : ""}.`);
    }
    const surface = asked.get("surface");
    if (surface === null) return refused;
    if (/^\d{1,3}$/.test(surface)) this.surface = Number(surface);
    else {
      this.set = {};
      refused.push(`Surface “${surface.slice(0, 40)}” is no number of a surface; nothing is tried.`);
    }
    return refused;
  }
}
