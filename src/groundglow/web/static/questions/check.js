// Did we get it? What was recorded, what was set aside, what has to be flown again; and bringing a flight in.

import { get, of, query, tried } from "../core/api.js";
import { el, given, one, put, wide } from "../core/dom.js";
import { pager } from "../core/pager.js";
import { runPart } from "../core/run.js";
import { count, percent } from "../core/say.js";
import { bring } from "../check/bring.js";

const { job } = given();
const LIMIT = 24;
const PARTS = ["#cover-part", "#aside-part", "#contacts-part"];

// --- coverage and what was set aside -----------------------------------------------------------------------------------

function coverage(rows) {
  if (!rows.length) return el("p", { class: "soft" }, "Not known: the brief has no outline, or the frames have no places.");
  const columns = [["seen_once", "at least once"], ["seen_twice", "twice or more"], ["seen_five", "five times or more"]];
  const head = el("tr", {}, ["Zone", "Area", ...columns.map((c) => c[1])].map((h, i) => el("th", { scope: "col", class: i ? "number" : "" }, h)));
  const row = (r) => el("tr", {}, el("th", { scope: "row" }, r.zone), el("td", { class: "number" }, `${Math.round(r.area_m2)} m²`), columns.map(([key]) => el("td", { class: "number" }, percent(r[key]))));
  return wide("Coverage", el("table", {}, el("thead", {}, head), el("tbody", {}, rows.map(row))));
}

function aside(rows) {
  if (!rows.length) return el("p", {}, "Nothing: every frame can be used.");
  return el("ul", {}, rows.map((r) => el("li", {}, el("strong", {}, r.frame), `: ${r.reason}`)));
}

function answer(found, key) {
  if (!found.log) return `${key}: not looked at: ${found.not_looked_at}.`.replace(/\.\.$/, ".");
  if (!found.frames) return `${key}: no frame was found in it.`;
  const gaps = found.coverage.filter((c) => c.seen_once < 0.99).map((c) => `${c.zone} (${percent(c.seen_once)} seen)`);
  const n = found.set_aside.length;
  return `${key}: ${n ? `${count(n, "frame")} set aside` : "every frame can be used"}. ${gaps.length ? `Not all of it was seen: ${gaps.join(", ")}.` : found.coverage.length ? "Every zone was seen." : ""}`;
}

// --- the contact sheet ----------------------------------------------------------------------------------------------------

function contact(key, f) {
  const src = query(of(job, "flights", key, "frames", f.frame, "thumb.png"), { side: 200 });
  const picture = el("img", { src, alt: `Frame ${f.frame}`, loading: "lazy", width: 200, height: 160 });
  const open = query(`/jobs/${encodeURIComponent(job)}/how-hot`, { flight: key, frame: f.frame });
  const words = f.used ? [f.frame, f.findings.length ? `, ${count(f.findings.length, "finding")}` : ""] : [f.frame, ": ", f.reason];
  return el("li", { class: f.used ? "" : "aside" }, f.used ? el("a", { href: open }, picture, words) : [picture, words]);
}

async function contacts(key, offset = 0) {
  const page = await get(query(of(job, "flights", key, "frames"), { offset, limit: LIMIT }));
  put(one("#contacts"), page.items.map((f) => contact(key, f)));
  put(one("#pager"), page.total > LIMIT ? pager(page, (o) => tried(() => contacts(key, o)), "frame") : null);
}

async function flight(key) {
  const found = await get(of(job, "flights", key));
  one("#answer").textContent = answer(found, key);
  PARTS.forEach((p) => { one(p).hidden = !found.frames; });
  if (!found.frames) return;
  put(one("#coverage"), coverage(found.coverage));
  put(one("#aside"), aside(found.set_aside));
  await contacts(key);
}

// --- begin -----------------------------------------------------------------------------------------------------------------

async function show() {
  const [found, about] = await Promise.all([get(of(job)), get("/api/about")]);
  one("#title").textContent = found.title || job;
  if (about.read_only) put(one("#bring"), el("h2", { id: "bring-title" }, "Bring in a flight"), el("p", { class: "note" }, "This server only shows; it was started with --read-only. No flight can be brought in here."));
  const step = found.steps.find((s) => s.step === "check");
  one("#flight-part").hidden = !found.flight_list.length;
  if (!found.flight_list.length) {
    PARTS.forEach((p) => { one(p).hidden = true; });
    one("#answer").textContent = about.read_only ? "Nothing was flown yet." : "Nothing was flown yet. Bring in a flight below.";
    return;
  }
  runPart(one("#making"), job, { until: "check", words: "Look at every frame", why: step?.state === "stale" ? `Out of date: ${step.why}.` : "", done: show, hidden: step?.state === "done" || about.read_only });
  const keys = found.flight_list.map((f) => f.key);
  const before = one("#flight").value;
  put(one("#flight"), keys.map((k) => el("option", { value: k, selected: k === before }, k)));
  await flight(keys.includes(before) ? before : keys.at(-1));
  one("#flight").value = keys.includes(before) ? before : keys.at(-1);
}

one("#flight").addEventListener("change", (e) => tried(() => flight(e.target.value)));
await tried(show);
if (document.querySelector("#bring-form")) bring(job, () => tried(show));
