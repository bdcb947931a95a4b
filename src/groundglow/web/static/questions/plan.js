// How and when do we fly? Lines that follow the corners of the site, and the hours of a day.

import { get, of, post, tried } from "../core/api.js";
import { el, given, one, put, settled } from "../core/dom.js";
import { file } from "../core/files.js";
import { corners, Drawing, area, written } from "../map/draw.js";
import { areas, bounds, lay, lines, paper } from "../map/paper.js";
import { cover, seen } from "../plan/coverage.js";
import { proof, sentenceOf, sorties } from "../plan/tell.js";
import { dayChart } from "../plan/day.js";

const { job } = given();
let plans = [];
let site = { type: "FeatureCollection", features: [] };
let drawing = null;
let made = null;
let dragged = false;
let asking = null;

const current = () => plans[Number(one("#asked").value)] ?? null;

function question() {
  const base = { ...(current()?.question ?? {}), name: current()?.name ?? "asked here" };
  const form = { camera: one("#camera").value, aircraft: one("#aircraft").value, sampling: one("#sampling").value.trim(), side_overlap: one("#side").value.trim(), take_off: one("#take-off").value.trim() };
  const kept = Object.fromEntries(Object.entries({ ...base, ...form }).filter(([, v]) => v !== null && v !== ""));
  if (kept.sampling) ["height", "pixels_on_target", "target_size"].forEach((k) => delete kept[k]);
  if (form.camera !== base.camera) delete kept.lens;
  if (dragged) ["zone", "over"].forEach((k) => delete kept[k]);
  return kept;
}

/** What is planned over: the ring in hand, with the site's no-fly and take-off features beside it. */
function over() {
  const beside = site.features.filter((f) => f.properties?.use && f.properties.use !== "survey");
  return { type: "FeatureCollection", features: [area(drawing.ring, "flown"), ...beside] };
}

const again = settled(async () => {
  if (!drawing || drawing.ring.length < 3 || !one("#camera").value) return;
  asking?.abort();
  asking = new AbortController();
  const found = await tried(() => post("/api/plan/try", { question: question(), site: over(), job }, { signal: asking.signal }));
  if (!found) return;
  show(found.plan, found.lines.features);
  seen(made, found.coverage);
}, 120);

function show(plan, features, whole = false) {
  one("#answer").textContent = sentenceOf(plan);
  put(one("#proof"), proof(plan));
  put(one("#sorties"), sorties(plan));
  flown(features, whole);
}

function flown(features, whole) {
  if (!made) return;
  lay(made.map, "flown", features);
  const box = whole ? bounds(features) : null;
  if (box) made.map.fitBounds(box, { padding: 40, duration: 0 });
}

function ring(features, zone) {
  const named = features.filter((f) => f.geometry?.type === "Polygon" && (!zone || f.properties?.name === zone) && (f.properties?.use ?? "survey") === "survey");
  return named[0]?.geometry.coordinates[0].slice(0, -1) ?? [];
}

async function draw() {
  const box = bounds(site.features);
  made = await paper(one("#map"), { box, words: "Map of the lines to fly" });
  if (!made) return;
  areas(made.map, "site", site.features);
  cover(made);
  lines(made.map, "flown", []);
  drawing = new Drawing(made, () => { dragged = true; one("#corners").value = written(drawing.ring); again(); }, { add: false });
}

function take() {
  const plan = current();
  const q = plan?.question ?? {};
  dragged = !plan;
  if (q.camera) one("#camera").value = q.camera;
  if (q.aircraft) one("#aircraft").value = q.aircraft;
  if (plan) one("#sampling").value = q.sampling ?? "";
  if (plan) one("#side").value = q.side_overlap ?? "";
  one("#zone").value = q.zone ?? "";
  if (one("#zone").selectedIndex < 0) one("#zone").value = "";
  if (plan) one("#take-off").value = q.take_off ?? "";
  put(one("#files"), (plan?.files ?? []).map((f) => file(job, f)));
  start(plan);
}

async function start(plan) {
  if (plan?.plan) show(plan.plan, []);
  const corners_ = ring(site.features, one("#zone").value);
  if (!one("#take-off").value && corners_.length && !site.features.some((f) => f.properties?.use === "take-off")) one("#take-off").value = written([corners_[0]]);
  if (drawing) {
    drawing.set(corners_, false);
    drawing.fit();
    one("#corners").value = written(corners_);
  }
  if (plan?.plan) {
    const { features } = await get(of(job, "plan", plan.number, "lines"));
    flown(features, true);
    seen(made, await get(of(job, "plan", plan.number, "coverage")));
  } else again();
}

async function day(event) {
  event?.preventDefault();
  const place = made ? made.map.getCenter() : null;
  const box = bounds(site.features);
  const at = box ? [(box[1] + box[3]) / 2, (box[0] + box[2]) / 2] : place ? [place.lat, place.lng] : null;
  const value = (id) => one(id).value.trim();
  const found = await tried(() => post("/api/window", { pair: value("#pair"), place: at, date: value("#date"), air_lowest: value("#low"), air_highest: value("#high"), wind: value("#wind"), cloud: value("#cloud") }));
  if (found) put(one("#day"), dayChart(found, one("#pair").selectedOptions[0].textContent));
}

one("#ask").addEventListener("submit", (e) => e.preventDefault());
one("#asked").addEventListener("change", take);
one("#zone").addEventListener("change", () => { dragged = true; drawing?.set(ring(site.features, one("#zone").value)); drawing?.fit(); });
for (const id of ["#camera", "#aircraft", "#sampling", "#side", "#take-off"]) one(id).addEventListener("change", again);
one("#set-corners").addEventListener("click", () => tried(async () => drawing.set(corners(one("#corners").value))));
one("#when").addEventListener("submit", day);

await tried(async () => {
  const [found, asked, kit, outline] = await Promise.all([get(of(job)), get(of(job, "plan")), get("/api/kit"), get(of(job, "site"))]);
  one("#title").textContent = found.title || job;
  ({ plans } = asked);
  site = outline;
  const options = (list) => list.map((x) => el("option", { value: x.id }, x.name));
  put(one("#camera"), options(kit.cameras));
  put(one("#aircraft"), options(kit.aircraft));
  put(one("#pair"), options(kit.pairs));
  const zones = site.features.filter((f) => f.geometry?.type === "Polygon").map((f) => f.properties?.name).filter(Boolean);
  put(one("#zone"), el("option", { value: "" }, "its first area"), zones.map((z) => el("option", { value: z }, z)));
  put(one("#asked"), plans.map((p, i) => el("option", { value: i }, p.name)), el("option", { value: -1 }, "one tried here"));
  one("#date").value = found.flight_list[0]?.visit ?? new Date().toISOString().slice(0, 10);
  if (!site.features.length) {
    one("#answer").textContent = "The brief has no outline of the site, so there is nothing to lay lines over.";
    one("#map").hidden = true;
    return;
  }
  one("#answer").textContent = plans.length ? "…" : "The brief asks for no plan; here is one to try.";
  if (current()?.plan) show(current().plan, []);
  await Promise.all([draw().then(take), day()]);
});
