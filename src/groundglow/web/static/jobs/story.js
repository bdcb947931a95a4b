// The story of one job: each question with its answer in a sentence, as far as there is one.

import { get, of, query, tried } from "../core/api.js";
import { el, given, one, put, whenSeen, wide } from "../core/dom.js";
import { pager } from "../core/pager.js";
import { count, sentence } from "../core/say.js";
import { siteMap } from "../map/site.js";

const { job } = given();
const LIMIT = 20;
const NOT_YET = {
  fit: "The brief asks nothing of this yet.",
  plan: "No plan was asked for yet.",
  check: "Nothing was flown yet.",
  measure: "No temperatures yet.",
  find: "Nothing was searched yet.",
  report: "There is no report yet.",
};
const STATE = { done: "answered", stale: "out of date", missing: "not yet", running: "at work" };

function tell(id, state, words) {
  const part = one(`#${id}`);
  const mark = one(".state", part);
  mark.dataset.state = state;
  mark.textContent = STATE[state];
  one(".answer", part).textContent = sentence(words);
}

/** What the steps behind a question say together. */
function stateOf(found, names) {
  const states = found.steps.filter((s) => names.includes(s.step)).map((s) => s.state);
  if (!states.length || states.every((s) => s === "missing")) return "missing";
  return states.every((s) => s === "done") ? "done" : "stale";
}

function recorded(found) {
  const frames = found.flight_list.reduce((n, f) => n + f.frames, 0);
  const used = found.flight_list.reduce((n, f) => n + f.used, 0);
  const aside = frames - used;
  const unseen = found.flight_list.filter((f) => !f.frames).length;
  const flights = count(found.flight_list.length, "flight");
  if (!frames) return `${flights} recorded, not looked at yet.`;
  const not = unseen ? `; ${count(unseen, "flight")} not looked at yet` : "";
  return `${flights} with ${count(frames, "frame")}; ${aside ? `${aside} set aside` : "none set aside"}${not}.`;
}

function measured(found) {
  const n = found.flight_list.reduce((sum, f) => sum + f.measured, 0);
  return n ? `${count(n, "frame")} measured, every value with its interval.` : NOT_YET.measure;
}

function searched(found) {
  if (found.findings === null) return NOT_YET.find;
  return `${count(found.findings, "place departs", "places depart")} from their surroundings as asked; ${found.reviewed} decided by a person.`;
}

async function chosen() {
  const { questions } = await get(of(job, "fit"));
  const answers = questions.filter((q) => q.answer);
  if (!answers.length) return questions.length ? tell("fit", "missing", `${count(questions.length, "question")} in the brief, not answered yet.`) : tell("fit", "missing", NOT_YET.fit);
  const words = answers.map((q) => (q.answer.fit_count ? `${q.name}: ${q.answer.fit_count} of ${q.answer.combinations} kits would do` : `${q.name}: no kit would do`));
  return tell("fit", "done", `${words.join("; ")}.`);
}

async function flown() {
  const { plans } = await get(of(job, "plan"));
  const made = plans.filter((p) => p.plan);
  if (!made.length) return tell("plan", "missing", plans.length ? "Asked, not planned yet." : NOT_YET.plan);
  const words = made.map(({ plan, name }) => `${name}: ${count(plan.lines.length, "line")}, ${count(plan.frames, "frame")}, ${Math.round(plan.seconds / 60)} min in the air`);
  return tell("plan", "done", `${words.join("; ")}.`);
}

function told(found, report) {
  const state = report.made ? (report.state === "done" ? "done" : "stale") : "missing";
  tell("report", state, report.made ? `A report of ${count(report.pages, "page")}, and ${count(report.files.length - 1, "file")} beside it.` : NOT_YET.report);
}

async function audit(offset = 0) {
  const page = await get(query(of(job, "audit"), { offset, limit: LIMIT }));
  const row = (a) => el("tr", {}, el("td", {}, a.at.replace("T", " ").slice(0, 16)), el("td", {}, a.who), el("td", {}, sentence(a.words)));
  const head = el("tr", {}, ["when (UTC)", "who", "what was changed"].map((h) => el("th", { scope: "col" }, h)));
  put(one("#audit"), page.items.length ? wide("Changes", el("table", {}, el("thead", {}, head), el("tbody", {}, page.items.map(row)))) : el("p", { class: "soft" }, "Nobody changed anything here from a page."), page.total > LIMIT ? el("div", { class: "pager" }, pager(page, (o) => tried(() => audit(o)), "change")) : null);
}

await tried(async () => {
  const found = await get(of(job));
  one("#title").textContent = found.title || job;
  document.title = `${found.title || job} · Groundglow`;
  one("#site").textContent = [found.site, found.client && `for ${found.client}`, found.asked_on && `asked on ${found.asked_on}`].filter(Boolean).join(" · ");
  one("#brief").textContent = found.sentence;
  tell("check", found.flight_list.length ? stateOf(found, ["check"]) : "missing", found.flight_list.length ? recorded(found) : NOT_YET.check);
  tell("measure", stateOf(found, ["measure"]), measured(found));
  tell("find", stateOf(found, ["find"]), searched(found));
  const [report] = await Promise.all([get(of(job, "report")), chosen(), flown()]);
  told(found, report);
});
whenSeen(one("#map"), () => tried(() => siteMap(one("#map"), job)));
one("#audit-part").addEventListener("toggle", () => tried(() => audit()), { once: true });
