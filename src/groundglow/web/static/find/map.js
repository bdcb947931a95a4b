// Findings on the map: numbered rings; the frame of the chosen one lies under them.

import { get, of, query } from "../core/api.js";
import { el } from "../core/dom.js";
import { bounds, paper, areas, underlay } from "../map/paper.js";
import { named } from "../map/site.js";

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
    Object.assign(this, { map, library, names, job, chosen, markers: new Map() });
    map.on("moveend", () => this.clear());
  }

  /** Names of zones off the rings. */
  clear() {
    this.names.clear([...this.markers.values()].map((m) => {
      const [{ x, y }, half] = [this.map.project(m.getLngLat()), m.getElement().offsetWidth / 2];
      return [x - half, y - half, x + half, y + half];
    }));
  }

  /** Replace the rings. */
  show({ features }) {
    this.markers.forEach((m) => m.remove());
    this.markers.clear();
    for (const { properties: p, geometry } of features) {
      if (!geometry || this.markers.size >= 400) continue;
      const ring = el("button", { type: "button", class: "ring small", "data-decision": p.decision, "aria-label": `Finding ${p.number}, ${p.question}`, onclick: () => this.chosen(p.id) }, String(p.number));
      this.markers.set(p.id, new this.library.Marker({ element: ring }).setLngLat(geometry.coordinates).addTo(this.map));
    }
    this.clear();
  }

  /** Mark one, and lay its frame under the rings. */
  async choose(f) {
    this.markers.forEach((m, id) => m.getElement().setAttribute("aria-current", String(id === f.id)));
    if (!f.place) return;
    const frames = await this.frames(f.flight);
    const frame = frames.find((x) => x.frame === f.frame);
    if (frame?.corners) underlay(this.map, "frame", `${of(this.job, "flights", f.flight, "frames", f.frame, "thumb.png")}?side=640`, frame.corners, "site-fill");
  }

  frames(flight) {
    this.known ??= new Map();
    if (!this.known.has(flight)) this.known.set(flight, get(query(of(this.job, "flights", flight, "frames"), { limit: 500 })).then((p) => p.items));
    return this.known.get(flight);
  }
}
