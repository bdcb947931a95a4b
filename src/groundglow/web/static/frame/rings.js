// Where the findings lie in a frame.

import { get, of, query } from "../core/api.js";

let numbers = null;
const details = new Map();

/** Every finding of a job by number, fetched once. */
function all(job) {
  numbers ??= get(query(of(job, "findings"), { limit: 500, status: "found" })).then((p) => new Map(p.items.map((f) => [f.number, f.id])), () => new Map());
  return numbers;
}

function detail(job, id) {
  if (!details.has(id)) details.set(id, get(of(job, "findings", id)));
  return details.get(id);
}

/** Numbers and boxes of the findings that a frame shows. */
export async function ringsOf(job, flight, known) {
  const byNumber = await all(job);
  const found = await Promise.all((known.findings ?? []).filter((n) => byNumber.has(n)).map(async (number) => {
    const { views } = await detail(job, byNumber.get(number));
    const seen = views.find((v) => v.frame === known.frame && v.flight === flight);
    return seen ? { number, box: seen.box } : null;
  }));
  return found.filter(Boolean);
}
