// How hot, and how surely? One frame, read closely.

import { get, of, query, tried } from "../core/api.js";
import { el, given, one, put, settled } from "../core/dom.js";
import { celsius, fixed, signed, moment } from "../core/say.js";
import { showBudget } from "../frame/budget.js";
import { Live } from "../frame/live.js";
import { fetchFrame, fetchRecorded, fetchTable } from "../frame/packet.js";
import { Readings } from "../frame/readings.js";
import { Scale } from "../frame/scale.js";
import { fromText, toText } from "../frame/shapes.js";
import { Sliders } from "../frame/sliders.js";
import { View } from "../frame/view.js";
import { showMethod } from "../frame/method.js";
import { ringsOf } from "../frame/rings.js";

const { job } = given();
const asked = new URLSearchParams(location.search);
const at = { flight: "", frame: "", frames: [], live: null, setting: [], loading: null, noTable: {} };
const scale = await Scale.load();

const view = new View(one("#frame"), one("#over"), { cursor: tell, press: set, turn });
const readings = new Readings((shapes) => ({ job, ...at, said: sliders.said(at.live, shapes) }), { changed: drawn, chosen: why });
const sliders = new Sliders(moved);

// --- which frame ---------------------------------------------------------------------------------------------------

function turn(by) {
  const i = at.frames.findIndex((f) => f.frame === at.frame) + by;
  if (at.frames[i]) open(at.frames[i].frame);
}

async function chooseFlight(key, frame) {
  at.flight = key;
  one("#flight").value = key;
  const [page, told] = await Promise.all([get(query(of(job, "flights", key, "frames"), { limit: 500, used: true })), get(of(job, "flights", key))]);
  at.frames = page.items;
  put(one("#name"), page.items.map((f) => el("option", { value: f.frame }, f.findings?.length ? `${f.frame}: ${f.findings.length === 1 ? "finding" : "findings"} ${f.findings.join(", ")}` : f.frame)));
  const first = page.items.some((f) => f.frame === frame) ? frame : told.first_frame;
  if (first) await open(first);
  showMethod(told);
}

async function open(frame) {
  at.loading?.abort();
  at.loading = new AbortController();
  const { signal } = at.loading;
  const known = at.frames.find((f) => f.frame === frame);
  await tried(async () => {
    let why = at.noTable[at.flight] ?? "";
    const none = (error) => {
      if (error.status !== 422) throw error;
      why = error.message;
      return null;
    };
    const tables = why ? null : fetchTable(job, at.flight, frame, {}, signal).catch(none);
    const [data, table] = await Promise.all([fetchFrame(job, at.flight, frame, known.measured, signal), tables]);
    at.frame = frame;
    one("#name").value = frame;
    at.live = new Live(data, table, why);
    view.size(at.live.width, at.live.height);
    one("[name=shown][value=departure]").disabled = !at.live.departure;
    if (!at.live.departure) choose("temperature");
    scale.fit(at.live);
    one("#else").hidden = !at.live.table;
    one("#as-value").textContent = at.live.table ? "temperature" : at.live.unit === "counts" ? "counts: without a calibration there is no temperature" : "apparent temperature";
    sliders.known(at.live);
    show();
    one("#answer").textContent = answer(known);
    const [rings] = await Promise.all([ringsOf(job, at.flight, known), ready(at.live, signal)]);
    view.rings(rings);
  });
}

/** Make a frame ready to be tried otherwise, and try what was tried before. */
async function ready(live, signal) {
  if (!live.table) return;
  if (!live.signal) live.record(await fetchRecorded(job, at.flight, at.frame, "signal", signal));
  await sliders.again(live, (air) => fetchTable(job, at.flight, at.frame, air, signal));
  if (!live.untouched) show();
}

/** The frame as it stands now. */
function show() {
  paint();
  tell(view.column, view.row);
  readings.moved();
}

function answer(known) {
  const how = known.measured ? "measured, tied and levelled" : "not measured yet: read as recorded";
  return `${known.frame}, ${known.time ? known.time.replace("T", " ").slice(0, 19) : moment(null)} UTC, ${how}.`;
}

// --- what is shown -------------------------------------------------------------------------------------------------------

function paint() {
  if (!at.live) return;
  scale.paint(view, at.live);
  const [low, high] = scale.ends(at.live.unit);
  one("#low").textContent = low;
  one("#high").textContent = high;
  one("#span-says").textContent = scale.kind === "departure" ? `± ${fixed(scale.span)} ${at.live.unit}` : `${low} to ${high}`;
}

function choose(kind) {
  scale.kind = kind;
  document.querySelectorAll("[name=shown]").forEach((r) => { r.checked = r.value === kind; });
  offer();
}

function offer() {
  put(one("#colours"), scale.offered.map((m) => el("option", { value: m.source, selected: m === scale.map }, m.words)));
  scale.legend(one("#strip"));
}

function tell(column, row) {
  const { live } = at;
  if (!live) return;
  const r = live.reading(column, row);
  const where = el("span", { class: "soft small" }, ` column ${column}, row ${row}${r.surface ? `, ${r.surface.name}` : ""}`);
  if (r.why) return put(one("#cursor"), r.unit === "counts" ? `${fixed(r.value, 0)} counts; ` : "", r.why, where);
  const around = Number.isFinite(r.departs) ? `; ${signed(r.departs)} K against its surroundings` : "";
  return put(one("#cursor"), el("strong", {}, `${celsius(r.value)} °C`), `, between ${celsius(r.low)} and ${celsius(r.high)} °C${around}.`, where);
}

function drawn() {
  const set_ = at.setting.length ? [{ kind: one("#kind").value, corners: at.setting, label: "", chosen: true }] : [];
  view.shapes([...readings.all, ...set_]);
  one("#share-part").hidden = !readings.all.length;
}

// --- what if it were otherwise --------------------------------------------------------------------------------------------

const tableAgain = settled(async (air) => {
  const table = await tried(() => fetchTable(job, at.flight, at.frame, air));
  if (!table) return;
  at.live.try({}, table);
  after();
}, 90);

function moved(said, air, asks) {
  at.live.try(said, air ? at.live.table : at.live.known);
  after();
  if (air && asks) tableAgain(air);
}

function after() {
  show();
  one("#tried").textContent = at.live.untouched ? "" : "Shown as tried, not as the job has it.";
}

// --- readings ---------------------------------------------------------------------------------------------------------------

const NEEDED = { point: 1, line: 2, polygon: Infinity };

function set(column, row) {
  if (!at.live) return;
  at.setting.push([column, row]);
  const kind = one("#kind").value;
  one("#finish").disabled = !(kind === "polygon" && at.setting.length > 2);
  one("#setting").textContent = at.setting.length < NEEDED[kind] ? `${at.setting.length} set; ${kind === "line" ? "now its other end" : "add corners, then close the area"}.` : "";
  if (at.setting.length >= NEEDED[kind]) finish();
  drawn();
}

function finish() {
  readings.add({ kind: one("#kind").value, corners: at.setting.splice(0), label: one("#label").value.trim() });
  one("#label").value = "";
  one("#finish").disabled = true;
  one("#setting").textContent = "";
}

let explaining = null;

function why(reading) {
  explaining?.abort();
  if (!reading || at.noTable[at.flight]) {
    one("#why").hidden = true;
    return;
  }
  explaining = new AbortController();
  const said = sliders.said(at.live, [reading]);
  const here = said.by_label ? said.by_label[reading.label] ?? said.said : said.said;
  showBudget({ job, ...at, said: here ?? {} }, reading, explaining.signal).catch((e) => {
    if (e.name !== "AbortError") one("#why").hidden = true;
  });
}

async function share() {
  const link = new URL(location.pathname, location.origin);
  link.search = new URLSearchParams([["flight", at.flight], ["frame", at.frame], ...readings.all.map((r) => ["read", toText(r)]), ...sliders.inLink()]);
  history.replaceState(null, "", link);
  try {
    await navigator.clipboard.writeText(link.href);
    one("#shared").textContent = "Copied.";
  } catch {
    one("#shared").textContent = "The address of this page now holds them; copy it from the browser.";
  }
}

// --- listening -----------------------------------------------------------------------------------------------------------------

one("#flight").addEventListener("change", (e) => tried(() => chooseFlight(e.target.value)));
one("#name").addEventListener("change", (e) => open(e.target.value));
one("#earlier").addEventListener("click", () => turn(-1));
one("#later").addEventListener("click", () => turn(1));
document.querySelectorAll("[name=shown]").forEach((r) => r.addEventListener("change", () => { choose(r.value); paint(); }));
one("#colours").addEventListener("change", (e) => { scale.picked[scale.kind] = e.target.value; offer(); paint(); });
one("#span").addEventListener("input", (e) => { scale.reach = Number(e.target.value); paint(); });
one("#kind").addEventListener("change", () => { at.setting = []; one("#finish").disabled = true; drawn(); });
one("#reading-form").addEventListener("submit", (e) => { e.preventDefault(); if (at.setting.length > 2) finish(); });
one("#share").addEventListener("click", share);
document.addEventListener("tone", () => { offer(); paint(); });

await tried(async () => {
  const found = await get(of(job));
  one("#title").textContent = found.title || job;
  if (!found.flight_list.length) {
    one("#answer").textContent = "Nothing was flown yet, so there is nothing to read.";
    document.querySelectorAll("main section").forEach((s) => { s.hidden = true; });
    return;
  }
  at.noTable = Object.fromEntries(found.flight_list.map((f) => [f.key, f.no_table]));
  put(one("#flight"), found.flight_list.map((f) => el("option", { value: f.key }, `${f.key}, ${f.used} frames`)));
  offer();
  sliders.fromLink(asked);
  asked.getAll("read").map(fromText).filter(Boolean).forEach((s) => readings.all.push({ ...s, told: null, why: "" }));
  await chooseFlight(asked.get("flight") ?? found.flight_list[0].key, asked.get("frame"));
  if (readings.all.length) readings.choose(readings.all.at(-1));
});

