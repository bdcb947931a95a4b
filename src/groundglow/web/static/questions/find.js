// What is wrong, and where? A table that the server filters, a map and a picture, linked; and decisions.

import { get, of, query, tried } from "../core/api.js";
import { el, given, one, put, settled, whenSeen } from "../core/dom.js";
import { pager } from "../core/pager.js";
import { count, signed, fixed, interval, place } from "../core/say.js";
import { FindingsMap } from "../find/map.js";
import { Review } from "../find/review.js";

const { job } = given();
const LIMIT = 20;
const COLUMNS = [
  ["number", "No."], ["question", "Looked for"], ["rise", "Against surroundings (95 %)"], ["size", "Across"], ["support", "How far supported"], ["decision", "Decided"],
];
const LESS = ["size"];
const FILTERS = ["status", "question", "decision", "support"];
const asked = { sort: "number", offset: 0, status: "found" };
let map = null;
let listing = null;
let chosen = null;

const review = new Review(job, async () => {
  await list();
  onMap();
  if (chosen) await choose(chosen.id, false);
});

// --- the table ---------------------------------------------------------------------------------------------------------

function heads() {
  put(one("#findings thead tr"), COLUMNS.map(([key, words]) => {
    const end = LESS.includes(key) ? "less" : "";
    const turned = asked.sort === `-${key}`;
    const sort = asked.sort === key ? "ascending" : turned ? "descending" : "none";
    return el("th", { scope: "col", class: end, "aria-sort": sort }, el("button", { type: "button", onclick: () => again({ sort: asked.sort === key ? `-${key}` : key }) }, words));
  }));
}

const size = (f) => (f.size_m === null ? `${f.area_px} px` : f.size_m < 1 ? `${fixed(100 * f.size_m, 0)} cm` : `${fixed(f.size_m)} m`);

function decided(f) {
  const { decision, grade } = f.review;
  return [decision === "open" ? "open" : decision, grade].filter(Boolean).join(", ");
}

function row(f) {
  const ring = el("button", { type: "button", class: "ring", "data-decision": f.review.decision, "aria-label": `Finding ${f.number}`, onclick: () => choose(f.id) }, String(f.number));
  const words = f.review.words ? [f.review.words, el("br"), el("span", { class: "soft small" }, `looked for: ${f.question}`)] : f.question;
  return el("tr", { "data-id": f.id, class: chosen?.id === f.id ? "chosen" : "" },
    el("td", {}, ring), el("td", {}, words), el("td", {}, `${signed(f.rise)} ${f.unit}`, el("br"), el("span", { class: "soft small" }, interval(f.rise_low, f.rise_high, f.unit))),
    el("td", { class: "less" }, size(f)), el("td", {}, f.support), el("td", {}, decided(f)));
}

function list() {
  listing = listed();
  return listing;
}

async function listed() {
  const page = await tried(() => get(query(of(job, "findings"), { ...asked, limit: LIMIT })));
  if (!page) return null;
  heads();
  put(one("#findings tbody"), page.items.length ? page.items.map(row) : el("tr", {}, el("td", { colspan: COLUMNS.length }, "Nothing matches.")));
  put(one("#pager"), page.total > LIMIT ? pager(page, (offset) => { asked.offset = offset; list(); }, "finding") : null);
  one("#matched").textContent = `${count(page.total, "finding matches", "findings match")}.`;
  return page;
}

const filterOnly = () => Object.fromEntries(Object.entries(asked).filter(([k]) => !["sort", "offset"].includes(k)));

const onMap = settled(async () => {
  if (!map) return;
  const [points, page] = await Promise.all([tried(() => get(query(of(job, "findings.geojson"), filterOnly()))), listing]);
  if (points) one("#drawn").textContent = undrawn(map.show(points), points.features.length, page?.total ?? 0);
}, 60);

/** What the map does not show of what matches. */
function undrawn(drawn, placed, all) {
  const past = placed > drawn ? `The map shows ${drawn} of them; choose fewer to see the others.` : "";
  const nowhere = all > placed ? `${count(all - placed, "has no place and is", "have no place and are")} not on the map.` : "";
  return `${past} ${nowhere}`.trim();
}

function again(change) {
  Object.assign(asked, { offset: 0 }, change);
  list();
  onMap();
}

function fill(counts) {
  const words = { status: "whatever became of it", question: "anything", decision: "any or none", support: "any" };
  for (const name of FILTERS) {
    const options = Object.entries(counts[name] ?? {}).map(([v, n]) => el("option", { value: v, selected: v === asked[name] }, `${v} (${n})`));
    put(one(`#${name}`), el("option", { value: "" }, words[name]), options);
    one(`#${name}`).addEventListener("change", (e) => again({ [name]: e.target.value }));
  }
}

// --- one finding ----------------------------------------------------------------------------------------------------------

function facts(f) {
  const temperature = f.mean_c === undefined || f.mean_c === null ? null : `${fixed(f.mean_c)} °C, between ${fixed(f.mean_low_c)} and ${fixed(f.mean_high_c)} °C`;
  const pairs = [
    ["Looked for", f.question],
    ["Against its surroundings", `${signed(f.rise)} ${f.unit}, between ${signed(f.rise_low)} and ${signed(f.rise_high)} ${f.unit}`],
    ["Temperature", temperature ?? "none can be stated"],
    ["How far supported", `${f.support}: ${f.support_reason}`],
    ["Across", `${size(f)}, ${count(f.area_px, "pixel")}`],
    ["Where", f.place ? `${place(f.place[1], f.place[0])}, within ${fixed(2 * f.position_sd_m)} m` : "place unknown"],
    ["Why it was kept or not", `${f.status}: ${f.reason}`],
    ["Cause", f.cause],
  ];
  return el("dl", { class: "facts" }, pairs.map(([k, v]) => [el("dt", {}, k), el("dd", {}, v)]));
}

function frameLink(f) {
  const [l, t, r, b] = f.box;
  const at = `finding ${f.number}|point|${Math.floor((l + r) / 2)},${Math.floor((t + b) / 2)}`;
  return query(`/jobs/${encodeURIComponent(job)}/how-hot`, { flight: f.flight, frame: f.frame, read: at });
}

async function choose(id, move = true) {
  const f = await tried(() => get(of(job, "findings", id)));
  if (!f) return;
  chosen = f;
  document.querySelectorAll("#findings tbody tr").forEach((r) => r.classList.toggle("chosen", r.dataset.id === id));
  const part = one("#chosen");
  part.hidden = false;
  one("#one-title").textContent = `${f.number}. ${f.review.words || f.question}: ${f.sign > 0 ? "warmer" : "cooler"} by ${fixed(Math.abs(f.rise))} ${f.unit}`;
  const picture = el("figure", {}, el("img", { src: of(job, "findings", id, "picture.png"), alt: `Thermal picture around finding ${f.number}: departure from its surroundings, ring ${f.number} in the middle`, width: 624, height: 420 }),
    el("figcaption", {}, `Seen in ${new Set(f.views.map((v) => `${v.flight}/${v.frame}`)).size} of ${count(f.in_view, "frame")} that had its place in view. `, el("a", { href: frameLink(f) }, `Read it in ${f.frame}`)));
  put(one("#detail"), picture, facts(f));
  review.show(f);
  map?.choose(f);
  history.replaceState(null, "", `#${f.number}`);
  if (move) part.focus();
}

// --- begin -----------------------------------------------------------------------------------------------------------------

one("#filter").addEventListener("submit", (e) => e.preventDefault());
one("#text").addEventListener("input", settled((e) => again({ text: e.target.value }), 200));
one("#least").addEventListener("input", settled((e) => again({ least_rise: e.target.value }), 200));

async function begin() {
  const [found, about, page] = await Promise.all([get(of(job)), get("/api/about"), list()]);
  one("#title").textContent = found.title || job;
  if (!page || found.findings === null) {
    one("#answer").textContent = "Nothing was searched yet. Once frames are measured, “find” looks for what departs from its surroundings.";
    ["#filter", "#map", "#findings", "#matched"].forEach((s) => { one(s).hidden = true; });
    return;
  }
  fill(page.counts);
  review.offer(about);
  const { status } = page.counts;
  const away = Object.entries(status).filter(([s]) => s !== "found").map(([s, n]) => `${n} ${s}`).join(", ");
  one("#answer").textContent = `${count(status.found ?? 0, "place departs", "places depart")} from their surroundings as asked; ${away ? `${away}, each with its reason` : "nothing else was looked at"}. The cause was not judged.`;
  whenSeen(one("#map"), () => tried(async () => {
    map = await FindingsMap.make(one("#map"), job, (id) => choose(id));
    onMap();
    if (chosen) map?.choose(chosen);
  }));
  await byAddress();
}

/** Choose the finding whose number stands in the address. */
async function byAddress() {
  const number = location.hash.slice(1);
  if (!/^[1-9]\d{0,6}$/.test(number)) return;
  const { items: [first] } = await get(query(of(job, "findings"), { number, limit: 1 }));
  if (first) await choose(first.id, false);
  else throw new Error(`There is no finding ${number} in this job.`);
}

window.addEventListener("hashchange", () => tried(byAddress));

await tried(begin);
