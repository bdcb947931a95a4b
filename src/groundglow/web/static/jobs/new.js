// A new job from a form: the brief reads back as a sentence, and the server says what is wrong while one writes.

import { get, post, tried } from "../core/api.js";
import { el, one, put, settled } from "../core/dom.js";
import { fixed } from "../core/say.js";
import { describedTarget } from "../fit/described.js";
import { corners, Drawing, area, grid, written } from "../map/draw.js";
import { bounds, lay, lines, paper } from "../map/paper.js";

/** The choice of a target that is described. */
const OWN = "-described";
const text = (id) => one(id).value.trim();
const number = (id) => (text(id) === "" ? null : Number.isFinite(Number(text(id))) ? Number(text(id)) : text(id));
let site = null;
let drawing = null;
let targets = [];
let described = null;

// --- the brief -----------------------------------------------------------------------------------------------------------

const sure = (o) => Object.fromEntries(Object.entries(o).filter(([, v]) => v !== null && v !== ""));

function brief() {
  const target = text("#target");
  const asked = sure({ name: text("#looked-for"), looking_for: text("#shape"), sign: text("#sign"), smallest_m: number("#smallest"), largest_m: number("#largest"), accuracy_k: number("#accuracy") });
  const task = text("#task");
  const wanted = task === "measure" ? { accuracy: `${number("#accuracy") ?? 2} K` } : {};
  const of = target === OWN ? described.said() : { target };
  const fit = target ? [sure({ name: text("#looked-for"), ...of, task, date: text("#date"), ...wanted })] : [];
  return {
    title: text("#title"), client: text("#client"), asked_on: text("#asked-on"),
    site: sure({ name: text("#site-name"), lat_deg: number("#lat"), lon_deg: number("#lon") }),
    question: [asked], fit,
    limits: sure({ highest_m: number("#highest"), people_near: one("#people").checked, live_parts: one("#live").checked }),
  };
}

const FIELD = { "question.0.smallest_m": "smallest", "question.0.largest_m": "largest", "question.0.accuracy_k": "accuracy", "site.lat_deg": "lat", "site.lon_deg": "lon", "limits.highest_m": "highest", title: "title", "site.name": "site-name", "question.0.name": "looked-for" };

/** A fault beside its field, where there is one. */
function mark(faults) {
  document.querySelectorAll("[data-wrong]").forEach((f) => {
    delete f.dataset.wrong;
    f.querySelector(".wrong")?.remove();
    f.querySelector("[aria-invalid]")?.removeAttribute("aria-invalid");
  });
  const loose = [];
  for (const fault of faults) {
    const name = Object.keys(FIELD).find((k) => fault.includes(`${k}:`) || fault.includes(`${k} `));
    const input = name ? one(`#${FIELD[name]}`) : null;
    if (!input || input.closest("[data-wrong]")) loose.push(fault);
    else {
      const id = `${input.id}-wrong`;
      input.setAttribute("aria-invalid", "true");
      input.setAttribute("aria-describedby", id);
      input.parentElement.dataset.wrong = "";
      input.parentElement.append(el("p", { class: "wrong", id }, fault));
    }
  }
  put(one("#faults"), loose.length ? el("div", { class: "note fault" }, loose.map((f) => el("p", {}, f))) : null);
}

const check = settled(async () => {
  const found = await tried(() => post("/api/briefs/check", { brief: brief() }));
  if (!found) return;
  mark(touched ? found.faults : []);
  one("#sentence").textContent = found.ok ? found.sentence : touched ? "Not yet a brief: see below what is missing." : one("#sentence").textContent;
}, 250);

let touched = false;
function changed() {
  touched = true;
  check();
}

// --- the site --------------------------------------------------------------------------------------------------------------

async function drawMap() {
  const made = await paper(one("#map"), { box: null, words: "Map to draw the site on" });
  if (!made) return;
  lines(made.map, "grid", [], "rule", 1);
  drawing = new Drawing(made, drawn);
  toPlace();
}

function toPlace() {
  const [lat, lon] = [number("#lat"), number("#lon")];
  if (!drawing || typeof lat !== "number" || typeof lon !== "number" || Math.abs(lat) > 85 || Math.abs(lon) > 180) return;
  lay(drawing.map, "grid", grid([lon, lat]));
  if (!drawing.ring.length) drawing.map.jumpTo({ center: [lon, lat], zoom: 17 });
}

async function drawn(ring) {
  one("#corners").value = written(ring);
  site = ring.length > 2 ? { type: "FeatureCollection", features: [area(ring, "site")] } : null;
  await measured();
}

async function measured() {
  if (!site) {
    one("#area").textContent = "";
    return changed();
  }
  const found = await tried(() => post("/api/sites/read", JSON.stringify(site), { type: "application/geo+json" }));
  if (found) taken(found, false);
  return changed();
}

function taken(found, show) {
  site = found.site;
  const [w, s, e, n] = found.bounds;
  one("#area").textContent = `${found.area_m2 ? `${fixed(found.area_m2 / 1e4, 2)} ha` : "No area, only lines or places"}${found.zones.length > 1 ? `, zones ${found.zones.join(", ")}` : ""}.`;
  if (text("#lat") === "") {
    one("#lat").value = fixedPlain((s + n) / 2);
    one("#lon").value = fixedPlain((w + e) / 2);
  }
  if (!show || !drawing) return;
  lay(drawing.map, "drawn", site.features);
  drawing.map.fitBounds(bounds(site.features), { padding: 40, duration: 0 });
  toPlace();
}

const fixedPlain = (v) => String(Math.round(v * 1e6) / 1e6);

async function file(given) {
  if (!given) return;
  const type = /\.kml$/i.test(given.name) ? "application/vnd.google-earth.kml+xml" : "application/geo+json";
  const found = await tried(async () => post("/api/sites/read", await given.text(), { type }), one("#site-wrong"));
  one("#outline").value = "";
  if (!found) return;
  drawing?.set([], false);
  taken(found, true);
  changed();
}

// --- listening ---------------------------------------------------------------------------------------------------------------

const form = one("#brief");
form.addEventListener("input", (e) => {
  if (e.target.id === "corners" || e.target.type === "file") return;
  if (["lat", "lon"].includes(e.target.id)) toPlace();
  changed();
});
one("#title").addEventListener("change", () => {
  if (!text("#id")) one("#id").value = text("#title").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 40);
});
one("#outline").addEventListener("change", (e) => file(e.target.files[0]));
const drop = one("#drop");
drop.addEventListener("dragover", (e) => { e.preventDefault(); drop.classList.add("over"); });
drop.addEventListener("dragleave", () => drop.classList.remove("over"));
drop.addEventListener("drop", (e) => { e.preventDefault(); drop.classList.remove("over"); file(e.dataTransfer.files[0]); });
one("#set-corners").addEventListener("click", () => tried(async () => {
  const ring = corners(one("#corners").value);
  if (drawing) { drawing.set(ring); drawing.fit(); } else await drawn(ring);
}));
one("#no-corners").addEventListener("click", () => (drawing ? drawing.set([]) : drawn([])));
one("#target").addEventListener("change", () => {
  const words = targets.find((t) => t.id === text("#target"))?.caution ?? "";
  described?.show(text("#target") === OWN);
  one("#caution").hidden = !words;
  one("#caution").textContent = words;
});
form.addEventListener("submit", (e) => {
  e.preventDefault();
  touched = true;
  tried(async () => {
    const asked = brief();
    const checked = await post("/api/briefs/check", { brief: asked });
    mark(checked.faults);
    if (!checked.ok) return;
    const made = await post("/api/jobs", { id: text("#id"), brief: asked, site });
    location.assign(`/jobs/${encodeURIComponent(made.id)}`);
  });
});

await tried(async () => {
  const kit = await get("/api/kit");
  ({ targets } = kit);
  described = describedTarget(one("#described"), kit.materials);
  put(one("#target"), el("option", { value: "" }, "not asked"), el("option", { value: OWN }, "one described here"), targets.map((t) => el("option", { value: t.id }, t.name)));
});
await tried(drawMap);
