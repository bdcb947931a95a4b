// Long work: begun, followed by server-sent events, and stopped if wanted. What is finished is kept.

import { get, of, post, remove, tried } from "./api.js";
import { el, put } from "./dom.js";
import { count } from "./say.js";

const STEP = { check: "Looking at the frames", register: "Tying frames together", measure: "Measuring", find: "Searching", report: "Writing the report", fit: "Comparing kits", plan: "Laying lines" };

/** A button that begins a run, and its progress. {until, words, why, done, hidden}. */
export function runPart(node, job, given) {
  const part = { node, job, given };
  if (given.hidden) put(node);
  else rest(part);
  return get(of(job, "runs")).then(({ items }) => {
    const running = items.find((r) => r.state === "running");
    if (running) follow(part, running);
  }, () => undefined);
}

function rest({ node, job, given }) {
  const begin = el("button", { type: "button", class: "lead" }, given.words);
  begin.addEventListener("click", () => tried(async () => {
    begin.disabled = true;
    try {
      follow({ node, job, given }, await post(of(job, "runs"), { until: given.until, workers: 0 }));
    } finally {
      begin.disabled = false;
    }
  }));
  put(node, given.why ? el("p", { class: "soft" }, given.why) : null, el("p", { class: "buttons" }, begin));
}

function follow(part, run) {
  const says = el("p", { class: "says", role: "status" }, "Beginning …");
  const bar = el("progress", { max: 1, "aria-label": "Progress" });
  const stop = el("button", { type: "button" }, "Stop; keep what is finished");
  const aside = el("ul", { class: "soft small" });
  put(part.node, says, bar, el("p", { class: "buttons" }, stop), aside);
  const events = new EventSource(of(part.job, "runs", run.id, "events"));
  stop.addEventListener("click", () => tried(() => remove(of(part.job, "runs", run.id))));
  events.addEventListener("progress", (e) => {
    const now = JSON.parse(e.data);
    says.textContent = `${STEP[now.step] || now.step || "At work"}${now.total && now.counted ? `: ${now.done} of ${count(now.total, now.counted)}` : " …"}`;
    if (now.total) bar.value = now.done / now.total;
    else bar.removeAttribute("value");
  });
  events.addEventListener("aside", (e) => {
    const { item, reason } = JSON.parse(e.data);
    aside.append(el("li", {}, `set aside: ${item}: ${reason}`));
  });
  events.addEventListener("end", (e) => {
    events.close();
    ended(part, JSON.parse(e.data));
  });
}

/** Show the page anew, then what became of the run. */
async function ended(part, run) {
  const words = { done: "Done.", cancelled: "Stopped; what was finished is kept.", failed: run.message };
  rest(part);
  await tried(() => part.given.done(run));
  part.node.prepend(el("p", { class: "says", role: "status" }, words[run.state] ?? run.state));
}
