// Which pixels a shape covers, row by row: a pixel belongs when its centre lies inside.

/** Call `each(row, first, end)` for the runs of pixels inside a polygon of [column, row] corners. */
export function runs(corners, width, height, each) {
  const rows = corners.map((c) => c[1]);
  const first = Math.max(0, Math.ceil(Math.min(...rows)));
  const last = Math.min(height - 1, Math.floor(Math.max(...rows)));
  for (let row = first; row <= last; row += 1) {
    const cuts = crossings(corners, row);
    for (let i = 0; i + 1 < cuts.length; i += 2) {
      const from = Math.max(0, Math.ceil(cuts[i]));
      const end = Math.min(width, Math.floor(cuts[i + 1]) + 1);
      if (end > from) each(row, from, end);
    }
  }
}

function crossings(corners, row) {
  const cuts = [];
  for (let i = 0, j = corners.length - 1; i < corners.length; j = i, i += 1) {
    const [x1, y1] = corners[j];
    const [x2, y2] = corners[i];
    if ((y1 <= row) === (y2 <= row)) continue;
    cuts.push(x1 + ((row - y1) / (y2 - y1)) * (x2 - x1));
  }
  return cuts.sort((a, b) => a - b);
}

/** Pixels along a straight line, a step of a pixel each: indices into the frame. */
export function along([x1, y1], [x2, y2], width, height) {
  const n = Math.max(1, Math.round(Math.hypot(x2 - x1, y2 - y1)));
  const out = [];
  for (let k = 0; k <= n; k += 1) {
    const x = Math.round(x1 + (k / n) * (x2 - x1));
    const y = Math.round(y1 + (k / n) * (y2 - y1));
    if (x >= 0 && y >= 0 && x < width && y < height) out.push(y * width + x);
  }
  return out;
}

/** Number, mean, standard deviation, least and greatest of `value(index)` over a polygon; NaN are left out. */
export function statistics(corners, width, height, value) {
  const s = { n: 0, mean: 0, low: Infinity, high: -Infinity };
  let m2 = 0;
  runs(corners, width, height, (row, from, end) => {
    for (let i = row * width + from; i < row * width + end; i += 1) {
      const v = value(i);
      if (v !== v) continue;
      s.n += 1;
      const d = v - s.mean;
      s.mean += d / s.n;
      m2 += d * (v - s.mean);
      if (v < s.low) s.low = v;
      if (v > s.high) s.high = v;
    }
  });
  return { ...s, sd: s.n > 1 ? Math.sqrt(m2 / (s.n - 1)) : 0 };
}
