// Why a reading is doubtful: its budget as bars, what would halve it, and what else it could have been.

import { of, post } from "../core/api.js";
import { bars } from "../core/chart.js";
import { el, one, put } from "../core/dom.js";
import { fixed, sentence, signed } from "../core/say.js";
import { middle } from "./shapes.js";

const MOST = 10;
const FEW = 4;
const KIND = { pixel: "pixel", independent: "pixel", noise: "pixel", frame: "frame", flight: "flight" };

/** Ask for the budget of one pixel and show it. */
export async function showBudget({ job, flight, frame, said }, { kind, label, corners }, signal) {
  const [column, row] = middle(corners);
  const found = await post(of(job, "flights", flight, "frames", frame, "budget"), { column, row, said }, { signal });
  one("#why").hidden = false;
  const half = (found.high_c - found.low_c) / 2;
  put(one("#why-says"), `${sentence(label)}${kind === "point" ? "" : ", pixel in its middle"}: ${fixed(found.surface_c)} °C, between ${fixed(found.low_c)} and ${fixed(found.high_c)} °C. Most of the ±${fixed(half)} K comes from ${found.dominant}.`);
  const lines = found.lines.filter((l) => Math.abs(l.contribution) > 0.005).sort((a, b) => Math.abs(b.contribution) - Math.abs(a.contribution)).slice(0, MOST);
  const rows = lines.map((l) => ({ name: l.name, value: Math.abs(l.contribution), kind: KIND[l.part] ?? "flight", text: `${fixed(Math.abs(l.contribution), 2)} K` }));
  const words = `Standard uncertainty by source: ${rows.map((r) => `${r.name} ${r.text}`).join(", ")}`;
  const key = ["pixel", "frame", "flight"].map((k) => el("span", { class: `key ${k}` }, { pixel: "each pixel its own", frame: "shared by the frame", flight: "shared by the flight" }[k]));
  put(one("#budget"), bars(rows, { words }), el("figcaption", {}, "Standard uncertainty that each source gives, K. ", key));
  put(one("#measures"), advice(found));
}

function advice(found) {
  const measures = [...(found.measures ?? [])].sort((a, b) => a.leaves_k - b.leaves_k).slice(0, FEW);
  const others = (found.alternatives ?? []).map((a) => el("li", {}, `${a.words}: ${fixed(a.surface_c)} °C (${signed(a.change_k)} K)`));
  const list = measures.map((m) => el("li", {}, `${m.how}: leaves ${fixed(m.leaves_k, 2)} K`));
  return [
    list.length ? [el("h3", {}, `What would make it surer than ${fixed(found.standard_uncertainty_k, 2)} K`), el("ul", {}, list)] : null,
    others.length ? el("details", {}, el("summary", {}, "What it would be otherwise"), el("ul", {}, others)) : null,
  ];
}
