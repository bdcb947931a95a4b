// Numbers beside rings, clear of each other and of the rings' lines: nearest free place first, with a leader where it is far.

const TURNS = [-45, 45, -135, 135, 0, 180, -90, 90].map((d) => (d * Math.PI) / 180);
/** Gaps between ring and number, in heights of the type; from the second on a leader joins them. */
const GAPS = [0.1, 1.2, 2.4, 3.8];
const WIDE = 0.64;
const HIGH = 1.05;

const overlap = (a, b) => Math.max(0, Math.min(a.right, b.right) - Math.max(a.left, b.left)) * Math.max(0, Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top));

const grown = ({ left, right, top, bottom }, by) => ({ left: left - by, right: right + by, top: top - by / 2, bottom: bottom + by / 2 });

/** Whether a ring's line runs through a box. */
function crossed({ left, right, top, bottom }, { cx, cy, r }, wide) {
  const near = Math.hypot(Math.max(left - cx, 0, cx - right), Math.max(top - cy, 0, cy - bottom));
  const far = Math.hypot(Math.max(cx - left, right - cx), Math.max(cy - top, bottom - cy));
  return near < r + wide && far > r - wide;
}

function box(ring, turn, gap, { size, width, height }) {
  const [w, h] = [WIDE * size * String(ring.number).length, HIGH * size];
  const reach = ring.r + gap * size;
  const [dx, dy] = [Math.cos(turn), Math.sin(turn)];
  const free = (v, low, high) => Math.min(Math.max(v, low), Math.max(low, high));
  const left = free(ring.cx + reach * dx + (dx > 0.1 ? 0 : dx < -0.1 ? -w : -w / 2), 0, width - w);
  const top = free(ring.cy + reach * dy + (dy > 0.1 ? 0 : dy < -0.1 ? -h : -h / 2), 0, height - h);
  return { left, top, right: left + w, bottom: top + h };
}

/** What speaks against a place: other numbers most, rings' lines, the inside of another ring, then distance. */
function cost(at, ring, rings, taken, gap, size) {
  const numbers = taken.reduce((sum, t) => sum + overlap(grown(at, 0.2 * size), t), 0) / (size * size);
  const lines = rings.filter((r) => crossed(at, r, 0.05 * size)).length;
  const inside = rings.filter((r) => r !== ring && Math.hypot((at.left + at.right) / 2 - r.cx, (at.top + at.bottom) / 2 - r.cy) < r.r).length;
  return 1000 * numbers + 60 * lines + 12 * inside + gap;
}

/** From the ring's edge to the nearest side of the number. */
function leader(at, { cx, cy, r }) {
  const x2 = Math.min(Math.max(cx, at.left), at.right);
  const y2 = Math.min(Math.max(cy, at.top), at.bottom);
  const away = Math.hypot(x2 - cx, y2 - cy) || 1;
  return { x1: cx + (r * (x2 - cx)) / away, y1: cy + (r * (y2 - cy)) / away, x2, y2 };
}

/** For rings {number, cx, cy, r} where each number stands: {x, y (of the baseline), box, leader or null}. */
export function placed(rings, room) {
  const taken = [];
  return rings.map((ring) => {
    const tries = GAPS.flatMap((gap) => TURNS.map((turn) => ({ gap, at: box(ring, turn, gap, room) })));
    const best = tries.map((t) => ({ ...t, cost: cost(t.at, ring, rings, taken, t.gap, room.size) })).reduce((a, b) => (b.cost < a.cost ? b : a));
    taken.push(best.at);
    return { x: best.at.left, y: best.at.bottom - 0.22 * room.size, box: best.at, leader: best.gap > GAPS[0] ? leader(best.at, ring) : null };
  });
}
