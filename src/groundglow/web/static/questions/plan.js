// How and when do we fly? Lines that follow the corners of the site, and the hours of a day.

import { get, of, post, tried } from "../core/api.js";
import { el, given, one, put, settled } from "../core/dom.js";
import { file } from "../core/files.js";
import { runPart } from "../core/run.js";
import { corners, Drawing, written } from "../map/draw.js";
import { areas, bounds, lay, lines, paper } from "../map/paper.js";
import { cover, seen } from "../plan/coverage.js";
import { moved, ringOf, zonesOf } from "../plan/ground.js";
import { takeTried } from "../plan/take.js";
import { proof, sentenceOf, sorties } from "../plan/tell.js";
import { dayChart } from "../plan/day.js";

const { job } = given();
let plans = [];
let site = { type: "FeatureCollection", features: [] };
let drawing = null;
let made = null;
let ring = [];
let dragged = false;
let asking = null;

const current = () => plans[Number(one("#asked").value)] ?? null;

/** Features that the plan in hand flies over: of its own file, else of the site. */
const ground = () => current()?.site?.features ?? site.features;

function question() {
  const base = current()?.question ?? {};
  const name = current() ? `${current().name} (tried)` : "tried here";
  const form = { name, camera: one("#camera").value, aircraft: one("#aircraft").value, sampling: one("#sampling").value.trim(), side_overlap: one("#side").value.trim(), take_off: one("#take-off").value.trim(), zone: one("#zone").value };
  const kept = Object.fromEntries(Object.entries({ ...base, ...form }).filter(([, v]) => v !== null && v !== ""));
  if (kept.sampling) ["height", "pixels_on_target", "target_size"].forEach((k) => delete kept[k]);
  if (form.camera !== base.camera) delete kept.lens;
  if (dragged) ["zone", "over"].forEach((k) => delete kept[k]);
  return kept;
}

const body = () => ({ question: question(), site: dragged ? moved(ground(), one("#zone").value, ring) : null, job });

const again = settled(async () => {
  if ((dragged && ring.length < 3) || !one("#camera").value) return;
  asking?.abort();
  asking = new AbortController();
  const { signal } = asking;
  const asked = body();
  const found = await tried(() => post("/api/plan/try", asked, { signal }));
  if (signal.aborted) return;
  if (!found) {
    one("#answer").textContent = "This cannot be planned as it stands; the reason stands at the top. What is shown below is the plan before it.";
    return;
  }
  show(found.plan, found.lines.features);
  one("#answer").textContent = `Tried here, not kept: ${sentenceOf(found.plan)}`;
  takeTried(one("#tried"), asked, current() ? take : null);
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

/** Everything that has a place: the site, and what plans fly over by files of their own. */
const everywhere = () => [...site.features, ...plans.flatMap((p) => p.site?.features ?? [])];

async function draw() {
  const box = bounds(everywhere());
  made = await paper(one("#map"), { box, words: "Map of the lines to fly" });
  if (!made) return;
  areas(made.map, "site", site.features);
  cover(made);
  lines(made.map, "flown", []);
  drawing = new Drawing(made, () => { dragged = true; ring = drawing.ring; one("#corners").value = written(ring); again(); }, { add: false });
}

function take() {
  const plan = current();
  const q = plan?.question ?? {};
  dragged = false;
  asking?.abort();
  put(one("#tried"));
  put(one("#zone"), el("option", { value: "" }, "all of it"), zonesOf(ground()).map((z) => el("option", { value: z }, z)));
  if (q.camera) one("#camera").value = q.camera;
  if (q.aircraft) one("#aircraft").value = q.aircraft;
  if (plan) one("#sampling").value = q.sampling ?? "";
  if (plan) one("#side").value = q.side_overlap ?? "";
  one("#zone").value = q.zone ?? "";
  if (one("#zone").selectedIndex < 0) one("#zone").value = "";
  if (plan) one("#take-off").value = q.take_off ?? "";
  const files = plan?.files ?? [];
  one("#files-part").hidden = !files.length;
  put(one("#files"), files.map((f) => file(job, f)));
  start(plan);
}

/** Corners of the area that the plan flies, to be dragged or written. */
function inHand() {
  ring = ringOf(ground(), one("#zone").value);
  one("#corners").value = written(ring);
  drawing?.set(ring, false);
  drawing?.fit();
}

async function start(plan) {
  if (plan?.plan) show(plan.plan, []);
  inHand();
  if (!one("#take-off").value && ring.length && !ground().some((f) => f.properties?.use === "take-off")) one("#take-off").value = written([ring[0]]);
  if (plan?.plan) {
    const { features } = await get(of(job, "plan", plan.number, "lines"));
    flown(features, true);
    seen(made, await get(of(job, "plan", plan.number, "coverage")));
  } else again();
}

/** A run where it is asked: the plans of the brief that are not made, or out of date. */
function running(found, about) {
  const step = found.steps.find((s) => s.step === "plan");
  const why = step?.state === "stale" ? `Out of date: ${step.why}.` : "The brief asks for plans that are not made yet.";
  const done = async () => {
    ({ plans } = await get(of(job, "plan")));
    running(await get(of(job)), about);
    take();
  };
  runPart(one("#making"), job, { until: "plan", words: "Make the plans of the brief", why, done, hidden: !step || step.state === "done" || about.read_only });
}

async function day(event) {
  event?.preventDefault();
  const place = made ? made.map.getCenter() : null;
  const box = bounds(everywhere());
  const at = box ? [(box[1] + box[3]) / 2, (box[0] + box[2]) / 2] : place ? [place.lat, place.lng] : null;
  const value = (id) => one(id).value.trim();
  const found = await tried(() => post("/api/window", { pair: value("#pair"), place: at, date: value("#date"), air_lowest: value("#low"), air_highest: value("#high"), wind: value("#wind"), cloud: value("#cloud") }));
  if (found) put(one("#day"), dayChart(found, one("#pair").selectedOptions[0].textContent));
}

one("#ask").addEventListener("submit", (e) => e.preventDefault());
one("#asked").addEventListener("change", take);
one("#zone").addEventListener("change", () => { dragged = false; inHand(); again(); });
for (const id of ["#camera", "#aircraft", "#sampling", "#side", "#take-off"]) one(id).addEventListener("change", again);
one("#set-corners").addEventListener("click", () => tried(async () => {
  ring = corners(one("#corners").value);
  dragged = true;
  drawing?.set(ring, false);
  drawing?.fit();
  again();
}));
one("#when").addEventListener("submit", day);

await tried(async () => {
  const [found, asked, kit, outline, about] = await Promise.all([get(of(job)), get(of(job, "plan")), get(`/api/kit?job=${encodeURIComponent(job)}`), get(of(job, "site")), get("/api/about")]);
  one("#title").textContent = found.title || job;
  ({ plans } = asked);
  site = outline;
  const options = (list) => list.map((x) => el("option", { value: x.id }, x.name));
  put(one("#camera"), options(kit.cameras));
  put(one("#aircraft"), options(kit.aircraft));
  put(one("#pair"), options(kit.pairs));
  put(one("#asked"), plans.map((p, i) => el("option", { value: i }, p.name)), el("option", { value: -1 }, "one tried here"));
  one("#date").value = found.flight_list[0]?.visit ?? new Date().toISOString().slice(0, 10);
  running(found, about);
  if (!everywhere().length) {
    one("#answer").textContent = "The brief has no outline of the site, so there is nothing to lay lines over.";
    one("#map").hidden = true;
    return;
  }
  one("#answer").textContent = plans.length ? "…" : "The brief asks for no plan; here is one to try.";
  if (current()?.plan) show(current().plan, []);
  await Promise.all([draw().then(take), day()]);
});
