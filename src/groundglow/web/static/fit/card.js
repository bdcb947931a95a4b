// The limits card: how far one kit reaches, target by target.

import { post } from "../core/api.js";
import { el, put } from "../core/dom.js";
import { fixed, percent } from "../core/say.js";

const COLUMNS = ["Target", "Task"];

/** Ask for the card of a kit and show it. */
export async function showCard(node, kit) {
  const card = await post("/api/fit/card", kit);
  const places = Object.keys(card.rows[0]?.reach_m ?? {});
  const metres = (m) => (m === null ? "no" : m <= 0 ? "not close by" : `${fixed(m, 0)} m`);
  const head = el("tr", {}, COLUMNS.map((c) => el("th", { scope: "col" }, c)), places.map((p) => el("th", { scope: "col", class: "number" }, p)));
  const rows = card.rows.map((r) => el("tr", {}, el("th", { scope: "row" }, r.target), el("td", {}, r.task), places.map((p) => el("td", { class: "number" }, metres(r.reach_m[p])))));
  put(node, el("div", { class: "scroll" }, el("table", {}, el("caption", {}, `${card.combination}: farthest distance with a probability of ${percent(card.probability)}, by conditions.`), el("thead", {}, head), el("tbody", {}, rows))));
}
