// A target that is described instead of picked: its size, what it is made of, and how warm it is.

import { el, one, put } from "../core/dom.js";

const SIDES = [["length", "Length", "0.3 m"], ["width", "Width", "0.3 m"], ["height", "Height; 0 is flat", "0 m"]];
const WARMTH = [["rise", "warmer than around it by"], ["temperature", "at a temperature of"]];
const START = { length: "0.3 m", width: "0.3 m", height: "0 m", rise: "5 K", temperature: "40 C" };
const LOOSE = ["material", "background", "clutter", "rise", "temperature", "length", "width", "height"];

/** Every field by which a question describes a target, empty: for one that is picked. */
export const UNSAID = Object.fromEntries(LOOSE.map((name) => [name, null]));

const field = (id, words, input, wide = false) => el("div", { class: wide ? "field wide" : "field" }, el("label", { for: id }, words), input);

/** {said(), take(question), show(yes)}; quantities are written with their unit. */
export function describedTarget(node, materials) {
  const text = (id, hint) => el("input", { id, placeholder: hint, autocomplete: "off" });
  put(node, el("div", { class: "row" },
    SIDES.map(([name, words, hint]) => field(`own-${name}`, words, text(`own-${name}`, hint))),
    field("own-material", "Made of", el("select", { id: "own-material" }, materials.map((m) => el("option", { value: m }, m))), true),
    field("own-warmth", "It is", el("select", { id: "own-warmth" }, WARMTH.map(([value, words]) => el("option", { value }, words))), true),
    field("own-warm", "So much", text("own-warm", "5 K"))));
  const value = (name) => one(`#own-${name}`, node).value.trim() || null;
  one("#own-warmth", node).addEventListener("change", () => { one("#own-warm", node).value = START[value("warmth")]; });
  const take = (question) => {
    for (const [name] of SIDES) one(`#own-${name}`, node).value = question[name] ?? START[name];
    const warmth = question.temperature ? "temperature" : "rise";
    one("#own-warmth", node).value = warmth;
    one("#own-warm", node).value = question[warmth] ?? START[warmth];
    one("#own-material", node).value = question.material ?? materials[0];
  };
  take({});
  return {
    take,
    show: (yes) => { node.hidden = !yes; },
    said: () => ({ length: value("length"), width: value("width"), height: value("height"), material: value("material"), rise: null, temperature: null, [value("warmth")]: value("warm") }),
  };
}
