// Where the findings lie in a frame.

import { get, of, whole } from "../core/api.js";

const details = new Map();

function detail(job, id) {
  if (!details.has(id)) details.set(id, get(of(job, "findings", id)));
  return details.get(id);
}

/** Numbers and boxes of the findings that a frame shows. */
export async function ringsOf(job, flight, known, signal) {
  if (!known.findings?.length) return [];
  const listed = await whole(of(job, "findings"), { status: "found", flight, frame: known.frame }, { signal });
  const found = await Promise.all(listed.map(async ({ id, number }) => {
    const { views } = await detail(job, id);
    const seen = views.find((v) => v.frame === known.frame && v.flight === flight);
    return seen ? { number, box: seen.box } : null;
  }));
  return found.filter(Boolean);
}
