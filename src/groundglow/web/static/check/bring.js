// Bringing a flight in: what its values mean, then its frames one by one, or a folder that the server can read.

import { get, of, post, put_, tried } from "../core/api.js";
import { el, one, put } from "../core/dom.js";
import { count } from "../core/say.js";

const BESIDE = /\.(csv|toml|log)$/i;
const number = (id) => (one(id).value.trim() === "" ? null : Number(one(id).value.replace(",", ".")));
const sure = (o) => Object.fromEntries(Object.entries(o).filter(([, v]) => v !== null && v !== ""));

/** What flight.toml will say. */
function spec() {
  const form = one("#form").value;
  const source = one("#source").value;
  const calibrated = form === "none" ? { form } : sure({ form, quantity: "temperature", unit: "K", coefficients: one("#coefficients").value.split(/[,;\s]+/).filter(Boolean).map(Number), standard_uncertainty_k: number("#calibration-sd") });
  return {
    name: one("#called").value.trim(),
    values: sure({ kind: one("#values-kind").value, unit: one("#unit").value, scale: number("#scale"), offset: number("#offset") }),
    calibration: calibrated,
    camera: sure({ id: one("#camera").value }),
    poses: sure({ source, file: source === "file" ? "poses.csv" : null, height_reference: source === "none" ? null : one("#height-reference").value, ground_height_m: number("#ground-height") }),
  };
}

async function send(job, key, files) {
  const bar = one("#sent");
  const stop = one("#stop-sending");
  let stopped = false;
  stop.onclick = () => { stopped = true; };
  bar.hidden = stop.hidden = files.length === 0;
  const failed = [];
  let sent = 0;
  for (const [i, f] of files.entries()) {
    if (stopped) break;
    one("#brought").textContent = `Sending ${f.name}, ${i + 1} of ${files.length}`;
    try {
      sent += 1;
      await put_(of(job, "flights", key, BESIDE.test(f.name) ? "files" : "frames", f.name), f, { type: f.type || "application/octet-stream" });
    } catch (error) {
      failed.push(error.message.startsWith(`${f.name}:`) ? error.message : `${f.name}: ${error.message}`);
    }
    bar.value = (i + 1) / files.length;
  }
  bar.hidden = stop.hidden = true;
  return { came: sent - failed.length, failed, stopped: sent < files.length };
}

async function begin(job, files, changed) {
  const visit = one("#visit").value;
  const flight = one("#called").value.trim();
  await post(of(job, "flights"), { visit, flight, spec: spec(), folder: one("#folder").value.trim() || null });
  const { came, failed, stopped } = await send(job, `${visit}/${flight}`, files);
  const words = [stopped ? `Stopped: ${came} of ${count(files.length, "file")} came and stay.` : failed.length ? `${count(came, "file")} came.` : "It is in."];
  if (failed.length) words.push("Not taken:");
  put(one("#brought"), words.join(" "), failed.length ? el("ul", {}, failed.map((f) => el("li", {}, f))) : null, came ? " Now let it be looked at, above." : null);
  changed();
}

/** Wire the form. */
export function bring(job, changed) {
  let files = [];
  const take = (list) => {
    files = [...list];
    one("#chosen").textContent = files.length ? `${count(files.length, "file")} chosen` : "";
  };
  const drop = one("#drop");
  one("#frames").addEventListener("change", (e) => take(e.target.files));
  drop.addEventListener("dragover", (e) => { e.preventDefault(); drop.classList.add("over"); });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (e) => { e.preventDefault(); drop.classList.remove("over"); take(e.dataTransfer.files); });
  one("#bring-form").addEventListener("submit", (e) => { e.preventDefault(); tried(() => begin(job, files, changed)); });
  get("/api/kit").then((kit) => put(one("#camera"), el("option", { value: "" }, "none of them"), kit.cameras.map((c) => el("option", { value: c.id }, c.name))), () => undefined);
}
