// Files to take away, each with what it is good for.

import { of } from "./api.js";
import { el } from "./dom.js";

const GOOD_FOR = {
  pdf: "to read and print", csv: "a table", gpkg: "layers for maps", geojson: "places for maps", json: "for programs", html: "a page for the phone",
  kml: "lines for maps and flight programs", gpx: "routes", png: "a picture", tif: "a frame", toml: "settings",
};

/** Bytes in words. */
function weight(bytes) {
  if (bytes < 1000) return `${bytes} B`;
  return bytes < 1e6 ? `${(bytes / 1e3).toFixed(0)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

/** A line of a list: the file, to be downloaded, and what it is. */
export function file(job, { name, path, bytes, what }) {
  const words = [what || GOOD_FOR[path.split(".").pop()], weight(bytes)].filter(Boolean).join(", ");
  return el("li", {}, el("a", { href: of(job, "files", path), download: path.split("/").pop() }, name ?? path), el("span", { class: "soft" }, ` ${words}`));
}
