// How hot, and how surely? One frame, read closely.

import { get, of, tried } from "../core/api.js";
import { el, given, one, put, settled } from "../core/dom.js";
import { celsius, fixed, signed, moment } from "../core/say.js";
import { showBudget } from "../frame/budget.js";
import { absent, flightOf, leftOut, noFlight, whyNot } from "../frame/link.js";
import { Live } from "../frame/live.js";
import { fetchFrame, fetchRecorded, fetchTable } from "../frame/packet.js";
import { Readings } from "../frame/readings.js";
import { Scale } from "../frame/scale.js";
import { outside, toText } from "../frame/shapes.js";
import { Sliders } from "../frame/sliders.js";
import { View } from "../frame/view.js";
import { showMethod } from "../frame/method.js";
import { ringsOf } from "../frame/rings.js";

const { job } = given();
const asked = new URLSearchParams(location.search);
const at = { flight: "", frame: "", listed: "", frames: [], live: null, setting: [], noTable: {} };
/** What is being opened: a further step goes on from there, not from what is still shown. */
const next = { flight: "", frame: "", loading: null };
const scale = await Scale.load();

const view = new View(one("#frame"), one("#over"), { cursor: tell, press: set, turn });
const readings = new Readings((shapes) => ({ job, ...at, said: sliders.said(at.live, shapes) }), { changed: drawn, chosen: why });
const sliders = new Sliders(moved);

// --- which frame ---------------------------------------------------------------------------------------------------

function turn(by) {
  const i = at.frames.findIndex((f) => f.frame === next.frame) + by;
  if (at.frames[i]) open(at.frames[i].frame);
}

async function chooseFlight(key, frame) {
  next.loading?.abort();
  next.flight = key;
  const [frames, told] = await flightOf(job, key).catch((error) => {
    one("#flight").value = at.listed;
    throw error;
  });
  if (next.flight !== key) return;
  Object.assign(at, { listed: key, frames });
  one("#flight").value = key;
  put(one("#name"), frames.map((f) => el("option", { value: f.frame }, f.findings?.length ? `${f.frame}: ${f.findings.length === 1 ? "finding" : "findings"} ${f.findings.join(", ")}` : f.frame)));
  showMethod(told);
  const there = frames.some((f) => f.frame === frame);
  if (frame && !there) nothing(await whyNot(job, key, frame), key, told.first_frame);
  else if (there || told.first_frame) await open(there ? frame : told.first_frame);
  else one("#answer").textContent = `Every frame of ${key} is set aside, so there is nothing to read.`;
}

/** What a link asks for is not there: its readings are none of another frame's. */
function nothing(words, flight, first) {
  readings.all = [];
  readings.choose(null);
  absent(words, first ? `the first frame, ${first}` : `flight ${flight}`, () => tried(() => chooseFlight(flight)));
}

async function open(frame) {
  next.loading?.abort();
  const loading = new AbortController();
  const { signal } = loading;
  Object.assign(next, { frame, loading });
  one("#name").value = frame;
  const { listed: flight } = at;
  const known = at.frames.find((f) => f.frame === frame);
  const opened = await tried(async () => {
    let why = at.noTable[flight] ?? "";
    const none = (error) => {
      if (error.status !== 422) throw error;
      why = error.message;
      return null;
    };
    const tables = why ? null : fetchTable(job, flight, frame, {}, signal).catch(none);
    const [data, table] = await Promise.all([fetchFrame(job, flight, frame, known.measured, signal), tables]);
    signal.throwIfAborted();
    Object.assign(at, { flight, frame, known, live: new Live(data, table, why) });
    view.size(at.live.width, at.live.height);
    view.rings([]);
    one("[name=shown][value=departure]").disabled = !at.live.departure;
    if (!at.live.departure) choose("temperature");
    scale.fit(at.live);
    one("#else").hidden = !at.live.table;
    one("#as-value").textContent = at.live.table ? "temperature" : at.live.unit === "counts" ? "counts: without a calibration there is no temperature" : "apparent temperature";
    const gone = sliders.known(at.live);
    if (gone) leftOut([gone]);
    show();
    drawn();
    const [rings] = await Promise.all([ringsOf(job, flight, known, signal), ready(at.live, signal)]);
    signal.throwIfAborted();
    view.rings(rings);
    return true;
  });
  if (opened || next.loading !== loading || at.frame === frame) return;
  next.frame = at.frame;
  one("#name").value = at.frame;
  if (!at.live) one("#answer").textContent = `${frame} could not be opened, so nothing is read.`;
}

/** Make a frame ready to be tried otherwise, and try what was tried before. */
async function ready(live, signal) {
  if (!live.table) return;
  if (!live.signal) live.record(await fetchRecorded(job, at.flight, at.frame, "signal", signal));
  await sliders.again(live, (air) => fetchTable(job, at.flight, at.frame, air, signal));
  if (!live.untouched) show();
}

const whyAgain = settled(() => why(readings.pick), 350);

/** The frame as it stands now. */
function show() {
  paint();
  tell(view.column, view.row);
  readings.moved();
  whyAgain();
  const tries = at.live.untouched ? "" : "Shown as tried, not as the job has it.";
  one("#tried").textContent = tries;
  const words = `${answer(at.known)} ${tries}`.trim();
  if (one("#answer").textContent !== words) one("#answer").textContent = words;
}

function answer({ frame, time, measured }) {
  const how = measured ? "measured, tied and levelled" : "not measured yet: read as recorded";
  return `${frame}, ${time ? `${time.replace("T", " ").slice(0, 19)} UTC` : moment(null)}, ${how}.`;
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
  const inside = readings.all.filter((r) => at.live && !outside(at.live, r));
  view.shapes([...inside, ...set_]);
  one("#share-part").hidden = !readings.all.length;
}

// --- what if it were otherwise --------------------------------------------------------------------------------------------

const tableAgain = settled(async (air) => {
  const table = await tried(() => fetchTable(job, at.flight, at.frame, air));
  if (!table) return;
  at.live.try({}, table);
  show();
}, 90);

function moved(said, air, asks) {
  at.live.try(said, air ? at.live.table : at.live.known);
  show();
  if (air && asks) tableAgain(air);
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
  if (!reading || !at.live || at.noTable[at.flight] || outside(at.live, reading)) {
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
  const [{ key: first }] = found.flight_list;
  const wanted = asked.get("flight") || first;
  if (!Object.hasOwn(at.noTable, wanted)) return nothing(noFlight(wanted), first);
  const wrong = readings.take(asked.getAll("read")).map((text) => `“${text.slice(0, 60)}” is no reading, and is left out: it is written as name|point|column,row, or as a line or polygon with all of its corners.`);
  const refused = [...sliders.fromLink(asked), ...wrong];
  if (refused.length) leftOut(refused);
  return chooseFlight(wanted, asked.get("frame"));
});
if (one("#answer").textContent === "…") one("#answer").textContent = "Nothing can be read here; what stands in the way is said above.";

