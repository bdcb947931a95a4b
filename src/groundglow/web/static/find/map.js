// Findings on the map: numbered rings; the frame of the chosen one lies under them.

import { get, of, query, whole } from "../core/api.js";
import { el } from "../core/dom.js";
import { bounds, paper, areas, underlay } from "../map/paper.js";
import { named } from "../map/site.js";

/** Rings that are drawn at most. */
const MOST = 400;

export class FindingsMap {
  static async make(node, job, chosen) {
    const [site, all] = await Promise.all([get(of(job, "site")), get(query(of(job, "findings.geojson"), { status: "found" }))]);
    const box = bounds([...site.features, ...all.features]);
    if (!box) {
      node.hidden = true;
      return null;
    }
    const made = await paper(node, { box, words: "Map of the findings" });
    if (!made) return null;
    areas(made.map, "site", site.features);
    return new FindingsMap(made, named(made, site.features), job, chosen);
  }

  constructor({ map, library }, names, job, chosen) {
    Object.assign(this, { map, library, names, job, chosen, markers: new Map(), known: new Map(), current: null });
    map.on("moveend", () => this.clear());
  }

  /** Names of zones off the rings. */
  clear() {
    this.names.clear([...this.markers.values()].map((m) => {
      const [{ x, y }, half] = [this.map.project(m.getLngLat()), m.getElement().offsetWidth / 2];
      return [x - half, y - half, x + half, y + half];
    }));
  }

  /** Replace the rings; those past the most are not drawn. Gives the number that is. */
  show({ features }) {
    this.markers.forEach((m) => m.remove());
    this.markers.clear();
    for (const { properties: p, geometry } of features) {
      if (!geometry || this.markers.size >= MOST) continue;
      const ring = el("button", { type: "button", class: "ring small", "data-decision": p.decision, onclick: () => this.chosen(p.id) }, String(p.number));
      this.markers.set(p.id, new this.library.Marker({ element: ring }).setLngLat(geometry.coordinates).addTo(this.map));
      ring.setAttribute("aria-label", `Finding ${p.number}, ${p.words || p.question}`); // the library puts its own
    }
    this.clear();
    this.mark();
    return this.markers.size;
  }

  mark() {
    this.markers.forEach((m, id) => m.getElement().setAttribute("aria-current", String(id === this.current)));
  }

  /** Mark one, and lay its frame under the rings. */
  async choose(f) {
    this.current = f.id;
    this.mark();
    if (!f.place) return;
    const frames = await this.frames(f.flight);
    const frame = frames.find((x) => x.frame === f.frame);
    if (frame?.corners) underlay(this.map, "frame", `${of(this.job, "flights", f.flight, "frames", f.frame, "thumb.png")}?side=640`, frame.corners, "site-fill");
  }

  /** Frames of a flight; none when they cannot be had: the map does without what lies under its rings. */
  frames(flight) {
    if (!this.known.has(flight)) this.known.set(flight, whole(of(this.job, "flights", flight, "frames")).catch(() => []));
    return this.known.get(flight);
  }
}
