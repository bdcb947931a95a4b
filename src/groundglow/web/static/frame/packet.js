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

/** A frame of a flight: what was recorded of it and, when it is measured, its values; asked for side by side. */
export async function fetchFrame(job, flight, frame, measured, signal) {
  const path = of(job, "flights", flight, "frames", frame, "pixels");
  const part = async (arrays) => unpack(await bytes(query(path, { arrays }), { signal }));
  const [values, recorded] = await Promise.all([measured ? part("value,sd,mask,departure") : {}, part("signal,surface")]);
  return { ...recorded, ...values, surfaces: recorded.surfaces, scales: { ...recorded.scales, ...values.scales } };
}

/** The table by which the browser works out temperatures of a frame again. */
export function fetchTable(job, flight, frame, said = {}, signal = undefined) {
  return get(query(of(job, "flights", flight, "frames", frame, "table"), said), { signal });
}
