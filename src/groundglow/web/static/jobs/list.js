// All jobs, newest name last, each with its brief in a sentence.

import { get, query, tried } from "../core/api.js";
import { el, one, put } from "../core/dom.js";
import { count } from "../core/say.js";
import { pager } from "../core/pager.js";

const list = one("#jobs");
const LIMIT = 20;

function standing(job) {
  if (job.fault) return "the brief cannot be read";
  if (job.running) return "at work";
  if (job.findings === null) return job.flights ? count(job.flights, "flight") : "not flown yet";
  return `${count(job.findings, "finding")}, ${job.reviewed} looked through`;
}

function entry(job) {
  const state = job.fault ? "failed" : job.running ? "running" : job.findings !== null ? "done" : "missing";
  return el("li", {},
    el("h2", {}, el("a", { href: `/jobs/${encodeURIComponent(job.id)}` }, job.title || job.id)),
    el("span", { class: "state", "data-state": state }, standing(job)),
    el("p", { class: "brief" }, job.fault || job.sentence));
}

async function show(offset = 0) {
  const page = await tried(() => get(query("/api/jobs", { offset, limit: LIMIT })));
  list.setAttribute("aria-busy", "false");
  if (!page) return;
  put(list, page.items.length ? page.items.map(entry) : el("li", {}, el("p", {}, "No job yet. Begin one, or make the demonstration: groundglow demo FOLDER.")));
  put(one("#pager"), page.total > LIMIT ? pager(page, show, "job") : null);
}

async function greet() {
  const about = await get("/api/about");
  const why = about.read_only ? "This server only shows." : about.single ? "One job is served here; serve a folder to begin others." : "";
  if (why) one("#new").replaceWith(el("span", { class: "soft" }, why));
}

await Promise.all([show(), greet()]);
