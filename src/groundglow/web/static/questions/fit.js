// Can it be seen? Kits ranked with their reasons, answered again at each move of a slider.

import { blob, get, of, post, save, tried } from "../core/api.js";
import { el, given, one, put, settled } from "../core/dom.js";
import { file } from "../core/files.js";
import { count, fixed, sentence } from "../core/say.js";
import { runPart } from "../core/run.js";
import { changes, kits, nameOf, said } from "../fit/answer.js";
import { showCard } from "../fit/card.js";
import { describedTarget, UNSAID } from "../fit/described.js";
import { weatherSliders } from "../fit/sliders.js";

const { job } = given();
/** As many kits as the server ranks in full. */
const MOST = 100;
let questions = [];
let base = {};
let asking = null;
let url = "";
let targets = [];
let described = null;
let top = 8;
const names = new Map();

const sliders = weatherSliders(one("#sliders"), () => ask());

/** The question as it stands in the form, in the words of the brief. */
function question() {
  const task = one("#task").value;
  const wanted = one("#wanted").value.trim();
  const target = one("#target").value || null;
  const own = { task, target, date: one("#date").value, ...sliders.said() };
  const how = task === "measure" ? { accuracy: wanted || null, probability: null } : { probability: wanted || null, accuracy: null };
  const size = !target ? { ...described.said(), ...(base.target ? { name: "the target described here" } : {}) } : target === base.target ? {} : UNSAID;
  return Object.fromEntries(Object.entries({ ...base, ...size, ...own, ...how }).filter(([, v]) => v !== null && v !== ""));
}

const body = () => ({ question: question(), job });

async function answerNow() {
  asking?.abort();
  asking = new AbortController();
  const { signal } = asking;
  const found = await tried(() => post("/api/fit/try", { ...body(), top }, { signal }), one("#ask-wrong"));
  if (signal.aborted) return;
  if (!found) return none();
  show(found);
  await views(found, signal);
}

const answerAgain = settled(answerNow, 60);

async function views(found, signal) {
  picture(await blob("/api/fit/views", body(), { signal }).catch(() => null), found);
}

function ask() {
  one("#kits").classList.add("busy");
  answerAgain();
}

/** Nothing of a former answer stays under a question that was refused. */
function none() {
  one("#kits").classList.remove("busy");
  one("#answers").hidden = true;
  one("#answer").textContent = "Not answered: the question cannot be taken as it stands. What is wrong stands beside it.";
}

function show(found) {
  const { asked } = found;
  one("#kits").classList.remove("busy");
  one("#answers").hidden = false;
  one("#answer").textContent = said(found, names);
  const more = Math.min(found.fit_count, MOST) - found.fit.length;
  one("#more").hidden = more <= 0;
  one("#more").textContent = `Show ${more} more of the ${found.fit_count} that would do`;
  one("#rule").textContent = found.rule;
  put(one("#kits"), kits(found.fit, names));
  one("#unfit-words").textContent = `${count(found.unfit.length, "kit")} that would not do, and why`;
  put(one("#unfit"), kits(found.unfit, names));
  put(one("#changes"), changes(found, names));
  put(one("#assumed"), [...found.assumed, ...found.cautions].map((a) => el("li", {}, sentence(a))));
}

one("#more").addEventListener("click", () => { top = MOST; ask(); });

function picture(image, found) {
  const img = one("#views");
  img.hidden = !image;
  if (!image) return;
  URL.revokeObjectURL(url);
  url = URL.createObjectURL(image);
  img.src = url;
  img.alt = `Simulated views of ${found.asked.name} by ${found.fit.slice(0, 3).map((k) => nameOf(k, names)).join("; ") || "the nearest kits"}`;
}

// --- the form ------------------------------------------------------------------------------------------------------------

function wanted() {
  const measure = one("#task").value === "measure";
  one("#wanted-words").textContent = measure ? "To within" : "With a probability of";
  one("#wanted").value = measure ? base.accuracy ?? "2 K" : base.probability ?? "90 %";
}

/** Take a question of the brief, or one of our own. */
function take(i) {
  const own = questions[i];
  base = own ? { ...own.question } : {};
  if (own) one("#target").value = offered(own.target);
  described.take(base);
  one("#task").value = base.task ?? "detect";
  one("#date").value = base.date || one("#date").value;
  sliders.take(base);
  wanted();
  caution();
  put(one("#files"), (own?.files ?? []).map((f) => file(job, f)));
  if (!own?.answer) return answerNow();
  show(own.answer);
  return views(own.answer);
}

/** The id of a target, offered from now on if it is one of the job's own. */
function offered(target) {
  if (target && !targets.some((t) => t.id === target.id)) {
    targets.push(target);
    names.set(target.id, target.name);
    one("#target").append(el("option", { value: target.id }, target.name));
  }
  return target?.id ?? "";
}

function caution() {
  described.show(!one("#target").value);
  const words = targets.find((t) => t.id === one("#target").value)?.caution ?? "";
  one("#caution").hidden = !words;
  one("#caution").textContent = words;
}

/** A run where it is asked: the questions of the brief that are not answered, or out of date. */
function running(found, about) {
  const step = found.steps.find((s) => s.step === "fit");
  const why = step?.state === "stale" ? `Out of date: ${step.why}.` : "The answers to the brief’s questions are not written yet; below is what they would be.";
  const done = async () => {
    ({ questions } = await get(of(job, "fit")));
    running(await get(of(job)), about);
    take(Number(one("#asked").value));
  };
  runPart(one("#making"), job, { until: "fit", words: "Answer the brief’s questions", why, done, hidden: !step || step.state === "done" || about.read_only });
}

async function pdf(path, what, name) {
  one("#sheet-says").textContent = "Being made …";
  const made = await tried(() => blob(path, what));
  one("#sheet-says").textContent = made ? "" : "It could not be made.";
  if (made) save(made, name);
}

one("#ask").addEventListener("submit", (e) => e.preventDefault());
one("#asked").addEventListener("change", (e) => take(Number(e.target.value)));
one("#target").addEventListener("change", () => { caution(); ask(); });
one("#task").addEventListener("change", () => { wanted(); ask(); });
for (const id of ["#wanted", "#date", "#described"]) one(id).addEventListener("change", ask);
one("#sheet").addEventListener("click", () => pdf("/api/fit/sheet.pdf", body(), "can-it-be-seen.pdf"));
const chosenKit = () => ({ camera: one("#camera").value, lens: one("#lens").value, aircraft: one("#aircraft").value || null, job });
one("#card-form").addEventListener("submit", (e) => { e.preventDefault(); tried(() => showCard(one("#card"), chosenKit(), names)); });
one("#card-pdf").addEventListener("click", () => pdf("/api/fit/card.pdf", chosenKit(), "limits.pdf"));

await tried(async () => {
  const [found, asked, kit, about] = await Promise.all([get(of(job)), get(of(job, "fit")), get(`/api/kit?job=${encodeURIComponent(job)}`), get("/api/about")]);
  one("#title").textContent = found.title || job;
  sliders.limit(asked.highest_m);
  running(found, about);
  described = describedTarget(one("#described"), kit.materials);
  ({ questions } = asked);
  ({ targets } = kit);
  for (const thing of [...kit.cameras, ...kit.lenses, ...kit.aircraft, ...targets]) names.set(thing.id, thing.name);
  put(one("#target"), el("option", { value: "" }, "one described below"), targets.map((t) => el("option", { value: t.id }, t.name)));
  put(one("#asked"), questions.map((q, i) => el("option", { value: i }, q.name)), el("option", { value: -1 }, "another one"));
  const options = (list) => list.map((x) => el("option", { value: x.id }, x.name));
  put(one("#camera"), options(kit.cameras));
  const lenses = () => put(one("#lens"), options(kit.lenses.filter((l) => kit.cameras.find((c) => c.id === one("#camera").value).lenses.includes(l.id))));
  one("#camera").addEventListener("change", lenses);
  lenses();
  put(one("#aircraft"), el("option", { value: "" }, "none"), options(kit.aircraft));
  if (!questions.length) one("#target").value = targets[0].id;
  take(questions.length ? 0 : -1);
});
