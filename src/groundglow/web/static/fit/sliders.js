// Distance, speed, hour and weather as sliders; untouched ones are left to the brief and say what they assume.

import { el, put } from "../core/dom.js";
import { fixed } from "../core/say.js";

// name in the brief, words, unit, least, greatest, step, start
const ALL = [
  ["distance", "Distance", "m", 5, 150, 1, 60],
  ["speed", "Speed", "m/s", 0, 25, 0.5, 5],
  ["hour", "Hour of the solar day", "h", 0, 23, 1, 12],
  ["wind", "Wind", "m/s", 0, 15, 0.5, 3],
  ["cloud", "Cloud", "%", 0, 100, 5, 30],
  ["humidity", "Humidity", "%", 10, 100, 5, 60],
];

/** The number in "60 m" or "0.3"; null when there is none. */
function numberOf(written) {
  if (written === null || written === undefined || written === "") return null;
  const value = parseFloat(written);
  return Number.isFinite(value) ? value : null;
}

/** {said(), take(question), limit(m)}: `changed` is called at each move; beyond the limit the distance is marked. */
export function weatherSliders(node, changed) {
  const set = {};
  let highest = Infinity;
  const parts = ALL.map(([name, words, unit, min, max, step, start]) => {
    const id = `slide-${name}`;
    const input = el("input", { type: "range", id, min, max, step, value: start });
    const output = el("output", { for: id });
    const tell = () => {
      const over = name === "distance" && set[name] > highest;
      output.textContent = set[name] === undefined ? "left open" : `${fixed(set[name], step < 1 ? 1 : 0)} ${unit}${over ? `; the limit is ${fixed(highest, 0)} m` : ""}`;
      output.classList.toggle("wrong", over);
    };
    input.addEventListener("input", () => {
      set[name] = Number(input.value);
      tell();
      changed();
    });
    tell();
    const row = el("div", { class: "slider" }, el("label", { for: id }, words), input, output);
    return { name, unit, start, input, tell, row };
  });
  const back = el("button", { type: "button", class: "plain" }, "Leave all open again");
  const take = (question) => parts.forEach(({ name, input, tell, start }) => {
    const v = numberOf(question[name]);
    delete set[name];
    if (v !== null) set[name] = v;
    input.value = v ?? start;
    tell();
  });
  back.addEventListener("click", () => { take({}); changed(); });
  put(node, parts.map((p) => p.row), back);
  const limit = (m) => {
    if (!Number.isFinite(m)) return;
    highest = m;
    const [{ input, row, tell }] = parts;
    row.append(el("datalist", { id: "slide-limit" }, el("option", { value: m, label: "limit of the brief" })));
    input.setAttribute("list", "slide-limit");
    tell();
  };
  return {
    take,
    limit,
    said: () => Object.fromEntries(parts.map(({ name, unit }) => [name, set[name] === undefined ? null : name === "hour" ? set[name] : `${set[name]} ${unit}`])),
  };
}
