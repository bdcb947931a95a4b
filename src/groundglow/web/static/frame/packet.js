// One frame as the server sends it: a header and arrays, read in place.

import { bytes, get, of, query } from "../core/api.js";

const KINDS = { float32: Float32Array, uint16: Uint16Array, uint8: Uint8Array };

/** Header and arrays of the server's binary form. */
export function unpack(buffer) {
  const head = new DataView(buffer);
  const magic = String.fromCharCode(...new Uint8Array(buffer, 0, 4));
  if (magic !== "GGF1") throw new Error(`the server sent ${JSON.stringify(magic)} where a frame was asked for`);
  const length = head.getUint32(4, true);
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 8, length)));
  const arrays = {};
  for (const a of header.arrays) {
    const Kind = KINDS[a.dtype];
    arrays[a.name] = new Kind(buffer, 8 + length + a.offset, a.bytes / Kind.BYTES_PER_ELEMENT);
  }
  return { ...header, ...arrays, scales: Object.fromEntries(header.arrays.map((a) => [a.name, a])) };
}

/** Codes as numbers; 0 is none. */
function decoded(codes, { scale, add }) {
  const out = new Float32Array(codes.length);
  for (let i = 0; i < out.length; i += 1) out[i] = codes[i] ? add + scale * codes[i] : NaN;
  return out;
}

async function fetchArrays(job, flight, frame, asked, signal) {
  return unpack(await bytes(query(of(job, "flights", flight, "frames", frame, "pixels"), asked), { signal }));
}

/** A frame of a flight: its values when it is measured, else what was recorded of it. */
export async function fetchFrame(job, flight, frame, measured, signal) {
  if (!measured) return fetchRecorded(job, flight, frame, "signal,surface", signal);
  const found = await fetchArrays(job, flight, frame, { arrays: "value,sd,mask,departure,surface", coded: true }, signal);
  for (const name of ["value", "sd", "departure"]) found[name] = decoded(found[name], found.scales[name]);
  return found;
}

/** What was recorded of a frame: needed as soon as something is tried. */
export function fetchRecorded(job, flight, frame, arrays, signal) {
  return fetchArrays(job, flight, frame, { arrays }, signal);
}

/** The table by which the browser works out temperatures of a frame again. */
export function fetchTable(job, flight, frame, said = {}, signal = undefined) {
  return get(query(of(job, "flights", flight, "frames", frame, "table"), said), { signal });
}
