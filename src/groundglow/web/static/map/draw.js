// Drawing an area: click its corners, drag them; or write them, one a line. Both are the same list.

import { el, settled } from "../core/dom.js";
import { areas, bounds, lay } from "./paper.js";

/** Corners as text, one a line: latitude, longitude. */
export const written = (corners) => corners.map(([lon, lat]) => `${lat.toFixed(7)}, ${lon.toFixed(7)}`).join("\n");

/** The corners of such a text; a line that is none is named. */
export function corners(text) {
  return text.split("\n").map((l) => l.trim()).filter(Boolean).map((l, i) => {
    const [lat, lon] = l.split(/[,;\s]+/).map(Number);
    if (!(Math.abs(lat) <= 90 && Math.abs(lon) <= 180)) throw new Error(`line ${i + 1}, “${l}”, is no latitude and longitude in degrees`);
    return [lon, lat];
  });
}

/** GeoJSON of an area with these corners. */
export function area(ring, name) {
  return { type: "Feature", properties: { name }, geometry: { type: "Polygon", coordinates: [[...ring, ring[0]]] } };
}

/** Lines every `step` metres around a place, so that an empty map has a size. */
export function grid([lon, lat], step = 50, half = 500) {
  const north = 1 / 111_320;
  const east = north / Math.cos((lat * Math.PI) / 180);
  const out = [];
  const along = (points) => out.push({ type: "Feature", properties: {}, geometry: { type: "LineString", coordinates: points } });
  for (let d = -half; d <= half; d += step) {
    along([[lon + d * east, lat - half * north], [lon + d * east, lat + half * north]]);
    along([[lon - half * east, lat + d * north], [lon + half * east, lat + d * north]]);
  }
  return out;
}

/** Corners on a map that can be set, dragged and taken away. `changed(ring)` hears of each change. */
export class Drawing {
  constructor({ map, library }, changed, { add = true } = {}) {
    Object.assign(this, { map, library, changed, ring: [], handles: [] });
    this.told = settled(() => this.changed(this.ring), 120);
    areas(map, "drawn", [], "lead");
    map.getCanvas().style.cursor = add ? "crosshair" : "";
    if (add) map.on("click", (e) => this.set([...this.ring, [e.lngLat.lng, e.lngLat.lat]]));
  }

  /** Replace all corners. */
  set(ring, tell = true) {
    this.ring = ring;
    this.handles.forEach((h) => h.remove());
    this.handles = ring.map((at, i) => this.handle(at, i));
    this.draw();
    if (tell) this.told();
  }

  handle(at, i) {
    const node = el("button", { type: "button", class: "corner", "aria-label": `Corner ${i + 1}; arrow keys move it a metre, Delete takes it away` });
    node.addEventListener("keydown", (e) => this.key(e, i));
    node.addEventListener("click", (e) => e.stopPropagation());
    const marker = new this.library.Marker({ element: node, draggable: true }).setLngLat(at).addTo(this.map);
    marker.on("drag", () => {
      const { lng, lat } = marker.getLngLat();
      this.ring[i] = [lng, lat];
      this.draw();
      this.told();
    });
    return marker;
  }

  key(event, i) {
    const north = 1 / 111_320;
    const east = north / Math.cos((this.ring[i][1] * Math.PI) / 180);
    const by = { ArrowUp: [0, north], ArrowDown: [0, -north], ArrowLeft: [-east, 0], ArrowRight: [east, 0] }[event.key];
    if (by) {
      this.ring[i] = [this.ring[i][0] + by[0], this.ring[i][1] + by[1]];
      this.handles[i].setLngLat(this.ring[i]);
      this.draw();
      this.told();
    } else if (event.key === "Delete") this.set(this.ring.filter((_, k) => k !== i));
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  draw() {
    lay(this.map, "drawn", this.ring.length > 2 ? [area(this.ring, "drawn")] : this.ring.length === 2 ? [{ type: "Feature", properties: {}, geometry: { type: "LineString", coordinates: this.ring } }] : []);
  }

  /** Show all of it. */
  fit() {
    const box = this.ring.length > 2 && bounds([area(this.ring, "")]);
    if (box) this.map.fitBounds(box, { padding: 48, duration: 0 });
  }
}

