// A map on plain paper: no tiles from anywhere; what is drawn comes from this server. The library is fetched when a map shows.

import { el, one, put } from "../core/dom.js";

const VENDOR = "/static/vendor/maplibre/maplibre-gl";
let library = null;

function load() {
  library ??= new Promise((resolve, reject) => {
    document.head.append(el("link", { rel: "stylesheet", href: `${VENDOR}.css` }));
    document.head.append(el("script", { src: `${VENDOR}.js`, onload: () => resolve(window.maplibregl), onerror: () => reject(new Error("the map could not be fetched")) }));
  });
  return library;
}

/** A colour of the style sheet. */
export function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
}

/** West, south, east, north of coordinates nested as GeoJSON nests them. */
export function bounds(features) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  const walk = (c) => {
    if (typeof c[0] !== "number") return c.forEach(walk);
    box[0] = Math.min(box[0], c[0]);
    box[1] = Math.min(box[1], c[1]);
    box[2] = Math.max(box[2], c[0]);
    box[3] = Math.max(box[3], c[1]);
    return undefined;
  };
  features.forEach((f) => f.geometry && walk(f.geometry.coordinates));
  return Number.isFinite(box[0]) ? box : null;
}

export const collection = (features) => ({ type: "FeatureCollection", features });

/** What the map could not fetch is said under it; what was given up because the page is left is not. */
function told(node, error) {
  if (/abort/i.test(`${error?.name} ${error?.message}`)) return;
  node.after(el("p", { class: "soft small" }, `Part of the map is missing: ${error?.message ?? "unknown"}`));
}

/** An empty map. Resolves to {map, library}; where the browser draws no maps, says so and resolves to null. */
export async function paper(node, { box, words }) {
  const maplibregl = await load();
  put(node);
  node.setAttribute("role", "region");
  node.setAttribute("aria-label", words);
  try {
    const map = new maplibregl.Map({
      container: node,
      style: { version: 8, sources: {}, layers: [{ id: "paper", type: "background", paint: { "background-color": colour("tint") } }] },
      bounds: box ?? [-10, 35, 30, 60],
      fitBoundsOptions: { padding: 32, maxZoom: 21 },
      maxZoom: 23,
      attributionControl: false,
      dragRotate: false,
      pitchWithRotate: false,
      cooperativeGestures: true,
    });
    map.touchZoomRotate.disableRotation();
    map.on("error", ({ error }) => told(node, error));
    map.addControl(new maplibregl.NavigationControl({ showCompass: false }), "top-right");
    map.addControl(new maplibregl.ScaleControl({ maxWidth: 120 }), "bottom-left");
    await new Promise((done) => map.once("load", done));
    one("canvas", node).setAttribute("aria-label", words);
    document.addEventListener("tone", () => map.setPaintProperty("paper", "background-color", colour("tint")));
    return { map, library: maplibregl };
  } catch (error) {
    put(node, el("p", { class: "note" }, `This browser draws no map (${error.message}). The lists beside it say the same.`));
    return null;
  }
}

/** Put features on the map under a name, or replace them. */
export function lay(map, name, features) {
  const source = map.getSource(name);
  if (source) source.setData(collection(features));
  else map.addSource(name, { type: "geojson", data: collection(features) });
}

/** Outlines and a faint fill of areas. */
export function areas(map, name, features, ink = "line") {
  lay(map, name, features);
  map.addLayer({ id: `${name}-fill`, type: "fill", source: name, filter: ["==", "$type", "Polygon"], paint: { "fill-color": colour(ink), "fill-opacity": 0.08 } });
  map.addLayer({ id: `${name}-line`, type: "line", source: name, paint: { "line-color": colour(ink), "line-width": 1.5 } });
}

/** Lines. */
export function lines(map, name, features, ink = "lead", width = 1.6) {
  lay(map, name, features);
  map.addLayer({ id: `${name}-line`, type: "line", source: name, filter: ["==", "$type", "LineString"], paint: { "line-color": colour(ink), "line-width": width } });
}

/** A picture laid over the ground by its four corners: top left, top right, bottom right, bottom left. */
export function underlay(map, name, url, corners, before) {
  if (map.getLayer(name)) {
    map.getSource(name).updateImage({ url, coordinates: corners });
    return;
  }
  map.addSource(name, { type: "image", url, coordinates: corners });
  map.addLayer({ id: name, type: "raster", source: name, paint: { "raster-opacity": 0.85, "raster-fade-duration": 0 } }, before);
}
