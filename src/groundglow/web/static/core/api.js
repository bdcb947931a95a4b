// The REST interface, and nothing else, is where a page gets what it shows.

import { el, put } from "./dom.js";

const WHO = "groundglow.who";

/** What the server refused, in its own words. */
export class Refused extends Error {
  constructor(status, body) {
    super(body?.error?.message ?? `the server answered ${status}`);
    this.status = status;
    this.faults = body?.error?.faults ?? [];
  }
}

/** Name of whoever sits here, as told once; kept in this browser. */
export function who(name) {
  try {
    if (name !== undefined) localStorage.setItem(WHO, name);
    return localStorage.getItem(WHO) ?? "";
  } catch { return name ?? ""; }
}

async function ask(method, path, { body, type, signal } = {}) {
  const headers = {};
  if (method !== "GET" && who()) headers["Groundglow-Who"] = encodeURIComponent(who());
  if (body !== undefined) headers["Content-Type"] = type ?? "application/json";
  const sent = body === undefined || type ? body : JSON.stringify(body);
  const answer = await fetch(path, { method, headers, body: sent, signal, credentials: "same-origin" });
  if (answer.ok) return answer;
  if (answer.status === 401 && location.pathname !== "/login") location.assign("/login");
  throw new Refused(answer.status, await answer.json().catch(() => null));
}

const json = async (answer) => (answer.status === 204 ? null : (await answer).json());

export const get = async (path, options) => json(await ask("GET", path, options));
export const post = async (path, body, options) => json(await ask("POST", path, { body, ...options }));
export const put_ = async (path, body, options) => json(await ask("PUT", path, { body, ...options }));
export const remove = async (path) => json(await ask("DELETE", path));
export const bytes = async (path, options) => (await ask("GET", path, options)).arrayBuffer();
export const blob = async (path, body, options) => (await ask("POST", path, { body, ...options })).blob();

/** /api/jobs/{job}/... with each part encoded. */
export function of(job, ...parts) {
  return ["/api/jobs", job, ...parts.flatMap((p) => String(p).split("/"))].map((p, i) => (i ? encodeURIComponent(p) : p)).join("/");
}

/** Path with the parameters that are not empty. */
export function query(path, given) {
  const kept = Object.entries(given).filter(([, v]) => v !== "" && v !== null && v !== undefined);
  return kept.length ? `${path}?${new URLSearchParams(kept)}` : path;
}

/** All of a list that the server tells a page at a time. */
export async function whole(path, given = {}, options = {}) {
  const items = [];
  for (let more = true; more;) {
    const page = await get(query(path, { limit: 500, ...given, offset: items.length || null }), options);
    items.push(...page.items);
    more = page.items.length > 0 && items.length < page.total;
  }
  return items;
}

/** Show a fault where everybody looks for it; `null` clears it. */
export function fault(error, where = document.querySelector("#fault")) {
  if (!error) return put(where);
  const said = error.faults?.length > 1 ? el("ul", {}, error.faults.map((f) => el("li", {}, f))) : null;
  return put(where, el("div", { class: "note fault" }, el("p", {}, error.message), said));
}

/** Run something that asks the server; what it refuses is told at the top of the page. */
export async function tried(work, where) {
  try {
    const found = await work();
    fault(null, where);
    return found;
  } catch (error) {
    if (error.name !== "AbortError") fault(error, where);
    return undefined;
  }
}

/** Save bytes that the server made under a name. */
export function save(content, name) {
  const link = el("a", { href: URL.createObjectURL(content), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
