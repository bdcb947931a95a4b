// The options of the report: kept as soon as they are changed; then the report is made again and its pages shown.

import { get, of, post, put_, tried } from "../core/api.js";
import { one, settled } from "../core/dom.js";

const WAIT = 250;
const fields = () => [...one("#options").elements].filter((e) => e.id);
const says = (words) => { one("#kept").textContent = words; };
let ready = false;
let busy = false;
let again = false;

/** Show options as they are kept, unless somebody is at them. */
export function tell(report, readOnly) {
  ready = report.ready && report.made;
  for (const field of fields()) {
    field.disabled = readOnly;
    if (busy || field === document.activeElement) continue;
    if (field.type === "checkbox") field.checked = report.options[field.id];
    else field.value = report.options[field.id];
  }
  if (report.fault) says(`${report.fault} Shown here are the options as they come; a change here writes the file anew.`);
}

const wanted = () => Object.fromEntries(fields().map((f) => [f.id, f.type === "checkbox" ? f.checked : f.value]));

/** From now on each change is kept; `show` draws the page anew. */
export function follow(job, show) {
  const keep = settled(() => tried(() => kept(job, show)), WAIT);
  one("#options").addEventListener("input", keep);
  one("#options").addEventListener("submit", (e) => e.preventDefault());
}

async function kept(job, show) {
  again = busy;
  if (busy) return;
  busy = true;
  try {
    do {
      again = false;
      says("Keeping it …");
      await put_(of(job, "report", "options"), wanted());
      if (ready) {
        says("Writing the report anew …");
        await made(job);
      }
    } while (again);
    says(ready ? "Kept; the pages below are new." : "Kept; it holds as soon as the report is made.");
  } catch (error) {
    says("Not kept.");
    throw error;
  } finally {
    busy = false;
    await show();
  }
}

/** A run to the report, to its end. */
async function made(job) {
  const run = await post(of(job, "runs"), { until: "report", workers: 1 });
  const ended = await new Promise((resolve, reject) => {
    const events = new EventSource(of(job, "runs", run.id, "events"));
    events.addEventListener("end", (e) => { events.close(); resolve(JSON.parse(e.data)); });
    events.addEventListener("error", () => {
      events.close();
      get(of(job, "runs", run.id)).then(resolve, reject);
    });
  });
  if (ended.state !== "done") throw new Error(ended.message || "The report was not made.");
}
