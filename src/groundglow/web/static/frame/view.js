// The picture: painted, with a cursor that answers to mouse, touch and keys, and things drawn over it.

import { put, svg } from "../core/dom.js";
import { placed } from "./labels.js";
import { Painter } from "./paint.js";

const STEP = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export class View {
  /** `heard` has `cursor(column, row)`, `press(column, row)` and `turn(by)`. */
  constructor(canvas, over, heard) {
    Object.assign(this, { canvas, over, heard, column: 0, row: 0, width: 0, height: 0 });
    this.layers = { marks: svg("g"), shapes: svg("g"), cursor: svg("g", { class: "cursor" }) };
    over.append(...Object.values(this.layers));
    canvas.addEventListener("pointermove", (e) => this.point(e));
    canvas.addEventListener("pointerdown", (e) => {
      if (e.button) return;
      this.point(e);
      heard.press(this.column, this.row);
    });
    canvas.addEventListener("keydown", (e) => this.key(e));
  }

  /** Make room for frames of a size. */
  size(width, height) {
    if (width === this.width && height === this.height) return;
    Object.assign(this, { width, height, column: width >> 1, row: height >> 1 });
    this.painter = new Painter(this.canvas, width, height);
    this.over.setAttribute("viewBox", `0 0 ${width} ${height}`);
  }

  /** Pixels of the frame in a dot of the screen. */
  get dot() {
    return this.width / (this.canvas.clientWidth || this.width);
  }

  point(event) {
    if (!this.width) return;
    const box = this.canvas.getBoundingClientRect();
    this.go(Math.floor(((event.clientX - box.left) / box.width) * this.width), Math.floor(((event.clientY - box.top) / box.height) * this.height));
  }

  key(event) {
    const step = STEP[event.key];
    const far = event.shiftKey ? 10 : 1;
    if (step) this.go(this.column + far * step[0], this.row + far * step[1]);
    else if (event.key === "Enter" || event.key === " ") this.heard.press(this.column, this.row);
    else if (event.key === "PageUp") this.heard.turn(-1);
    else if (event.key === "PageDown") this.heard.turn(1);
    else return;
    event.preventDefault();
  }

  go(column, row) {
    this.column = Math.min(Math.max(column, 0), this.width - 1);
    this.row = Math.min(Math.max(row, 0), this.height - 1);
    const [x, y, arm] = [this.column + 0.5, this.row + 0.5, 12 * this.dot];
    const stroke = `M${x - arm} ${y}h${arm * 0.7}M${x + arm} ${y}h${-arm * 0.7}M${x} ${y - arm}v${arm * 0.7}M${x} ${y + arm}v${-arm * 0.7}`;
    put(this.layers.cursor, svg("path", { class: "halo", d: stroke }), svg("path", { d: stroke }));
    this.heard.cursor(this.column, this.row);
  }

  /** Numbered rings: {number, box}; their numbers stand clear of each other. */
  rings(found) {
    const { dot } = this;
    const circles = found.map(({ number, box: [l, t, r, b] }) => ({ number, cx: (l + r) / 2, cy: (t + b) / 2, r: Math.max(r - l, b - t) / 2 + 9 * dot }));
    const labels = placed(circles, { width: this.width, height: this.height, size: 14 * dot });
    put(this.layers.marks, circles.map(({ number, cx, cy, r }, i) => {
      const { x, y, leader } = labels[i];
      const lines = leader ? ["halo", "leader"].map((kind) => svg("line", { class: kind, ...leader })) : [];
      return svg("g", { class: "found" }, svg("circle", { class: "halo", cx, cy, r }), svg("circle", { cx, cy, r }), lines, svg("text", { x, y, "font-size": 14 * dot }, String(number)));
    }));
  }

  /** Readings and the one being set: {kind, corners, label, chosen}. */
  shapes(all) {
    put(this.layers.shapes, all.map((s) => this.shape(s)));
  }

  shape({ kind, corners, label, chosen }) {
    const points = corners.map(([x, y]) => `${x + 0.5},${y + 0.5}`).join(" ");
    const draw = (halo) => {
      const look = { class: halo };
      if (kind === "point") return svg("path", { ...look, d: `M${corners[0][0] + 0.5} ${corners[0][1] + 0.5}m-5 0h10m-5 -5v10` });
      return svg(kind === "polygon" && corners.length > 2 ? "polygon" : "polyline", { ...look, points });
    };
    const [x, y] = corners[0];
    const word = svg("text", { x: Math.min(x + 9, this.width - 60), y: Math.max(y - 7, 16), "font-size": 14 * this.dot }, label);
    return svg("g", { class: `shape${chosen ? " chosen" : ""}` }, draw("halo"), draw(""), word);
  }
}
