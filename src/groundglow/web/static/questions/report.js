// What do we tell them? What goes into the report, its pages as they will be, and everything to take away.

import { get, of, query, tried } from "../core/api.js";
import { el, given, one, put } from "../core/dom.js";
import { file } from "../core/files.js";
import { pager } from "../core/pager.js";
import { count } from "../core/say.js";
import { runPart } from "../core/run.js";
import { follow, tell } from "../report/options.js";

const { job } = given();
const LIMIT = 30;

function page(n, made, paper) {
  const src = (width) => query(of(job, "report", "pages", `${n}.png`), { width, made });
  const height = paper === "Letter" ? 1165 : 1273;
  return el("figure", {}, el("img", { src: src(900), srcset: `${src(600)} 600w, ${src(900)} 900w`, sizes: "(max-width: 40rem) 92vw, 50rem", alt: `Page ${n} of the report; the PDF holds its text`, loading: "lazy", width: 900, height }), el("figcaption", {}, `Page ${n}`));
}

async function every(offset = 0) {
  const found = await get(query(of(job, "files"), { offset, limit: LIMIT }));
  put(one("#all"), el("ul", {}, found.items.map((f) => file(job, f))), el("div", { class: "pager" }, pager(found, (o) => tried(() => every(o)), "file")));
}

async function show() {
  const [found, report, about] = await Promise.all([get(of(job)), get(of(job, "report")), get("/api/about")]);
  one("#title").textContent = found.title || job;
  const words = report.made ? `A report of ${count(report.pages, "page")}.` : "There is no report yet.";
  one("#answer").textContent = words;
  runPart(one("#making"), job, { until: "report", words: report.made ? "Make it again" : "Make the report", why: report.state === "stale" ? `Out of date: ${report.why}.` : "", done: show, hidden: report.state === "done" || about.read_only });
  tell(report, about.read_only);
  put(one("#files"), report.files.length ? report.files.map((f) => file(job, f)) : el("li", { class: "soft" }, "Nothing yet."));
  put(one("#pages"), Array.from({ length: report.pages ?? 0 }, (_, i) => page(i + 1, report.made_at, report.options.paper)));
  return report;
}

document.querySelectorAll("main section details").forEach((d) => d.addEventListener("toggle", () => tried(every), { once: true }));
follow(job, show);
await tried(show);
