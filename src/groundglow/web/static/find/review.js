// What a person decides about a finding; kept apart from what the machine found, and never lost: undo is one more decision.

import { of, post, tried, who } from "../core/api.js";
import { el, one, put } from "../core/dom.js";

const DONE = { accept: "accepted", reject: "rejected", regrade: "graded", reword: "reworded", note: "noted", undo: "undid" };

export class Review {
  constructor(job, changed) {
    Object.assign(this, { job, changed, finding: null });
    one("#by").value = who();
    one("#by").addEventListener("change", (e) => who(e.target.value.trim()));
    one("#review").addEventListener("submit", (e) => e.preventDefault());
    document.querySelectorAll("[data-do]").forEach((b) => b.addEventListener("click", () => this.decide(b.dataset.do)));
  }

  /** Grades, and whether anything may be written at all. */
  offer(about) {
    put(one("#grade"), el("option", { value: "" }, "none"), about.grades.map((g) => el("option", { value: g }, g)));
    one("#review").hidden = about.read_only;
  }

  show(finding) {
    const other = this.finding?.id !== finding.id;
    this.finding = finding;
    const { review } = finding;
    one("#grade").value = review.grade ?? "";
    one("#words").value = review.words || review.shown_words || finding.question;
    if (other) {
      one("#note").value = "";
      one("#decided").textContent = "";
    }
    put(one("#history"), finding.history.length ? finding.history.map((d) => this.entry(d, finding.history)) : el("li", { class: "soft" }, "Nobody decided anything yet."));
  }

  entry(d, all) {
    const undone = d.undone ?? all.some((x) => x.undoes === d.decision);
    const words = `${d.at.replace("T", " ").slice(0, 16)}, ${d.by} ${DONE[d.action] ?? d.action}${d.value ? ` “${d.value}”` : ""}${d.note ? `: ${d.note}` : ""}${undone ? " (undone)" : ""}`;
    const undo = undone ? null : el("button", { type: "button", class: "plain", onclick: () => this.undo(d.decision) }, "undo");
    return el("li", {}, words, " ", undo);
  }

  name() {
    const by = one("#by").value.trim();
    if (by) return by;
    one("#decided").textContent = "Say your name first: a decision stands under it.";
    one("#by").focus();
    return null;
  }

  decide(action) {
    const by = this.name();
    if (!by) return;
    who(by);
    const value = { regrade: one("#grade").value, reword: one("#words").value, note: one("#note").value }[action] ?? "";
    const note = ["accept", "reject"].includes(action) ? one("#note").value : "";
    this.send(() => post(of(this.job, "findings", this.finding.id, "decisions"), { action, value, note, by }), `Finding ${this.finding.number}: ${DONE[action]}.`);
  }

  undo(decision) {
    const by = this.name();
    if (by) this.send(() => post(of(this.job, "decisions", decision, "undo"), { by }), "Undone.");
  }

  async send(work, words) {
    const done = await tried(work);
    if (done === undefined) return;
    one("#note").value = "";
    await this.changed();
    one("#decided").textContent = words;
  }
}
