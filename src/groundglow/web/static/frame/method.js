// How a flight was measured: method, references, what was assumed.

import { bars } from "../core/chart.js";
import { el, one, put } from "../core/dom.js";

const list = (title, items) => (items?.length ? [el("h3", {}, title), el("ul", {}, items.map((i) => el("li", {}, Array.isArray(i) ? i.join(": ") : i)))] : null);

/** Fill the section of one flight, as the server tells of it. */
export function showMethod({ method, log }) {
  if (!method) return put(one("#method"), el("p", { class: "soft" }, "This flight is not measured yet; pixels are read as recorded."));
  const shared = { "the flight": "flight", "the frame": "frame" };
  const rows = method.budget.slice(0, 8).map(([name, text, , by]) => ({ name, value: parseFloat(text), text, kind: shared[by] ?? "pixel" }));
  const chart = rows.length ? el("figure", {}, bars(rows, { words: `Sources of doubt over the flight: ${rows.map((r) => `${r.name} ${r.text}`).join(", ")}` }), el("figcaption", {}, "What the doubt of this flight’s temperatures is made of.")) : null;
  return put(one("#method"), el("ul", {}, method.lines.map((l) => el("li", {}, l))), chart,
    list("Checked against", method.references), list("Taken for granted", method.assumed), list("Noted", log.notes));
}
