// What do we tell them? The report page by page, and everything to take away.

import { get, of, query, tried } from "../core/api.js";
import { el, given, one, put } from "../core/dom.js";
import { pager } from "../core/pager.js";
import { count } from "../core/say.js";
import { runPart } from "../core/run.js";

const { job } = given();
const LIMIT = 30;

/** Bytes in words. */
function weight(bytes) {
  if (bytes < 1000) return `${bytes} B`;
  return bytes < 1e6 ? `${(bytes / 1e3).toFixed(0)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

const KINDS = { pdf: "to read and print", csv: "a table", gpkg: "layers for maps", geojson: "places for maps", json: "for programs", html: "a page" };
const link = (path) => of(job, "files", path);

function file({ name, path, bytes }) {
  return el("li", {}, el("a", { href: link(path), download: name }, name), el("span", { class: "soft" }, ` ${KINDS[name.split(".").pop()] ?? ""}, ${weight(bytes)}`));
}

function page(n) {
  const src = (width) => `${of(job, "report", "pages", `${n}.png`)}?width=${width}`;
  return el("figure", {}, el("img", { src: src(900), srcset: `${src(600)} 600w, ${src(900)} 900w`, sizes: "(max-width: 40rem) 92vw, 50rem", alt: `Page ${n} of the report; the PDF holds its text`, loading: "lazy", width: 900, height: 1273 }), el("figcaption", {}, `Page ${n}`));
}

async function every(offset = 0) {
  const found = await get(query(of(job, "files"), { offset, limit: LIMIT }));
  const row = (f) => el("li", {}, el("a", { href: link(f.path), download: f.path.split("/").pop() }, f.path), el("span", { class: "soft" }, ` ${f.what ? `${f.what}, ` : ""}${weight(f.bytes)}`));
  put(one("#all"), el("ul", {}, found.items.map(row)), el("div", { class: "pager" }, pager(found, (o) => tried(() => every(o)), "file")));
}

async function show() {
  const [found, report] = await Promise.all([get(of(job)), get(of(job, "report"))]);
  one("#title").textContent = found.title || job;
  const words = report.made ? `A report of ${count(report.pages, "page")}${report.state === "stale" ? "; it is out of date" : ""}.` : "There is no report yet.";
  one("#answer").textContent = words;
  runPart(one("#making"), job, { until: "report", words: report.made ? "Make it again" : "Make the report", why: report.state === "done" ? "" : report.why, done: show, hidden: report.state === "done" });
  put(one("#files"), report.files.length ? report.files.map(file) : el("li", { class: "soft" }, "Nothing yet."));
  put(one("#pages"), Array.from({ length: report.pages ?? 0 }, (_, i) => page(i + 1)));
}

document.querySelectorAll("main section details").forEach((d) => d.addEventListener("toggle", () => tried(every), { once: true }));
await tried(show);
