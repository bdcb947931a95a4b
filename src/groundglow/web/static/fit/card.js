// The limits card: how far one kit reaches, target by target.

import { post } from "../core/api.js";
import { el, put, wide } from "../core/dom.js";
import { fixed, percent } from "../core/say.js";

const COLUMNS = ["Target", "Task"];

/** Ask for the card of a kit and show it. */
export async function showCard(node, kit, names) {
  const card = await post("/api/fit/card", kit);
  const places = Object.keys(card.rows[0]?.reach_m ?? {});
  const metres = (m) => (m === null ? "no" : m <= 0 ? "not close by" : `${fixed(m, 0)} m`);
  const head = el("tr", {}, COLUMNS.map((c) => el("th", { scope: "col" }, c)), places.map((p) => el("th", { scope: "col", class: "number" }, p)));
  const rows = card.rows.map((r, i) => el("tr", {},
    el("th", { scope: "row" }, card.rows[i - 1]?.target === r.target ? el("span", { class: "unseen" }, names.get(r.target) ?? r.target) : names.get(r.target) ?? r.target),
    el("td", {}, r.task), places.map((p) => el("td", { class: "number" }, metres(r.reach_m[p])))));
  const caption = `Farthest distance to do it with a probability of ${percent(card.probability)}, by time of day and humidity; ${card.place}.`;
  put(node, wide("Limits of the kit", el("table", {}, el("caption", {}, caption), el("thead", {}, head), el("tbody", {}, rows))));
}
