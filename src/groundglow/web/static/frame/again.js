// Temperatures worked out again from the server's table when emissivity or surroundings are changed.
// radiance at the camera = path + e * (black surface, arriving) + (1 - e) * (mirrored surroundings, arriving)

/** Value of a rising table at x; NaN outside. */
export function interpolate(xs, ys, x) {
  if (!(x >= xs[0] && x <= xs[xs.length - 1])) return NaN;
  let low = 0;
  let high = xs.length - 1;
  while (high - low > 1) {
    const mid = (low + high) >> 1;
    if (xs[mid] <= x) low = mid;
    else high = mid;
  }
  return ys[low] + ((x - xs[low]) / (xs[high] - xs[low])) * (ys[high] - ys[low]);
}

/** Surface temperature, K, of an apparent temperature, K. `moved` replaces parts of the table. */
export function surfaceTemperature(table, apparent, emissivity, reflected, moved = {}) {
  const path = moved.path ?? table.path;
  const mirrored = interpolate(table.reflected_k, moved.mirrored ?? table.mirrored, reflected);
  const own = (interpolate(table.signal_k, table.radiance, apparent) - path - (1 - emissivity) * mirrored) / emissivity;
  return interpolate(moved.arriving ?? table.arriving, table.surface_k, own);
}

/** Standard uncertainty, K, of one reading, to first order: each input moved by its own doubt. */
export function uncertainty(table, apparent, emissivity, reflected) {
  const at = surfaceTemperature(table, apparent, emissivity, reflected);
  const { doubt } = table;
  const slope = (surfaceTemperature(table, apparent + 0.1, emissivity, reflected) - at) / 0.1;
  const e = emissivity + doubt.emissivity <= 1 ? emissivity + doubt.emissivity : emissivity - doubt.emissivity;
  const parts = [
    ...Object.values(doubt.apparent_k).map((d) => d * slope),
    ...Object.values(doubt.surface_k),
    surfaceTemperature(table, apparent, e, reflected) - at,
    surfaceTemperature(table, apparent, emissivity, reflected + doubt.reflected_k) - at,
    ...doubt.moved.map((m) => surfaceTemperature(table, apparent, emissivity, reflected, m) - at),
  ];
  return Math.sqrt(parts.reduce((sum, p) => sum + p * p, 0));
}

/** Temperature of each code from `first` to `last` into `out` (from `start`): both tables are walked once. */
export function temperatures(table, scale, [first, last], emissivity, reflected, out, start) {
  const { signal_k: sk, radiance, surface_k: tk, arriving } = table;
  const away = table.path + (1 - emissivity) * interpolate(table.reflected_k, table.mirrored, reflected);
  let i = 0;
  let j = 0;
  for (let c = first; c <= last; c += 1) {
    const s = scale.add + scale.scale * c;
    while (i < sk.length - 2 && sk[i + 1] <= s) i += 1;
    const L = radiance[i] + ((s - sk[i]) / (sk[i + 1] - sk[i])) * (radiance[i + 1] - radiance[i]);
    const own = (L - away) / emissivity;
    while (j < arriving.length - 2 && arriving[j + 1] <= own) j += 1;
    const ok = own >= arriving[0] && own <= arriving[arriving.length - 1] && s >= sk[0] && s <= sk[sk.length - 1];
    out[start + c] = ok ? tk[j] + ((own - arriving[j]) / (arriving[j + 1] - arriving[j])) * (tk[j + 1] - tk[j]) : NaN;
  }
}
