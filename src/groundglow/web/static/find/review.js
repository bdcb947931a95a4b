// What a person decides about a finding; kept apart from what the machine found, and never lost: undo is one more decision.

import { fault, of, post, who } from "../core/api.js";
import { el, one, put } from "../core/dom.js";

const DONE = { accept: "accepted", reject: "rejected", regrade: "graded", reword: "reworded", note: "noted" };
/** Decisions that take the note along. */
const NOTED = ["accept", "reject", "note"];

const quoted = (d) => `${DONE[d.action] ?? d.action}${d.value ? ` “${d.value}”` : ""}${d.note ? `: ${d.note}` : ""}`;

/** What a decision did; for one that takes another back, which. */
function did(d, all) {
  let [of_, back] = [d, false];
  while (of_?.action === "undo") {
    const { undoes } = of_;
    of_ = all.find((x) => x.decision === undoes);
    back = !back;
  }
  if (of_ === d) return quoted(d);
  return `${back ? "took back" : "brought back"}: ${of_ ? quoted(of_) : "a decision"}`;
}

export class Review {
  /** Until `offer` is called nothing may be written. */
  constructor(job, changed) {
    Object.assign(this, { job, changed, finding: null, closed: true, stood: {} });
    one("#by").value = who();
    one("#by").addEventListener("change", (e) => who(e.target.value.trim()));
    one("#review").addEventListener("submit", (e) => e.preventDefault());
    document.querySelectorAll("[data-do]").forEach((b) => b.addEventListener("click", () => this.decide(b.dataset.do)));
  }

  /** Grades, and whether anything may be written at all. */
  offer(about) {
    put(one("#grade"), el("option", { value: "" }, "none"), about.grades.map((g) => el("option", { value: g }, g)));
    this.closed = about.read_only;
    one("#review").hidden = this.closed;
    const { finding } = this;
    this.finding = null;
    if (finding) this.show(finding);
  }

  show(finding) {
    const other = this.finding?.id !== finding.id;
    this.finding = finding;
    const { review } = finding;
    this.fill("grade", review.grade ?? "", other);
    this.fill("words", review.words || finding.question, other);
    if (other) {
      one("#note").value = "";
      one("#decided").textContent = "";
      fault(null, one("#refused"));
    }
    put(one("#history"), finding.history.length ? finding.history.map((d) => this.entry(d, finding.history)) : el("li", { class: "soft" }, "Nobody decided anything yet."));
  }

  /** A field as it stands; what somebody wrote into it and has not kept yet stays. */
  fill(name, value, other) {
    const field = one(`#${name}`);
    if (other || field.value === this.stood[name]) field.value = value;
    this.stood[name] = value;
  }

  entry(d, all) {
    const words = `${d.at.replace("T", " ").slice(0, 16)}, ${d.by} ${did(d, all)}${d.undone ? " (undone)" : ""}`;
    const undo = d.undone || this.closed ? null : el("button", { type: "button", class: "plain", "aria-describedby": `decision-${d.decision}`, onclick: () => this.undo(d.decision) }, "undo");
    return el("li", {}, el("span", { id: `decision-${d.decision}` }, words), " ", undo);
  }

  name() {
    const by = one("#by").value.trim();
    if (by) {
      who(by);
      return by;
    }
    one("#decided").textContent = "Say your name first: a decision stands under it.";
    one("#by").focus();
    return null;
  }

  /** Decisions of which whoever sits here knows: the server refuses when there are more. */
  get seen() {
    return this.finding.history.length;
  }

  decide(action) {
    const by = this.name();
    if (!by) return;
    const value = { regrade: one("#grade").value, reword: one("#words").value, note: one("#note").value }[action] ?? "";
    if (action === "regrade" && !value) {
      this.ungrade(by);
      return;
    }
    const note = ["accept", "reject"].includes(action) ? one("#note").value : "";
    const { id, number } = this.finding;
    this.send(() => post(of(this.job, "findings", id, "decisions"), { action, value, note, by, seen: this.seen }), `Finding ${number}: ${DONE[action]}.`, NOTED.includes(action));
  }

  undo(decision) {
    const by = this.name();
    if (by) this.send(() => this.takeBack([decision], by), "Undone.");
  }

  /** No grade: every grade that still counts is taken back. */
  ungrade(by) {
    const grades = this.finding.history.filter((d) => d.action === "regrade" && !d.undone).map((d) => d.decision);
    if (grades.length) this.send(() => this.takeBack(grades.reverse(), by), `Finding ${this.finding.number}: its grade is taken back.`);
    else one("#decided").textContent = "There is no grade to take back: choose one to keep.";
  }

  async takeBack(decisions, by) {
    const { seen } = this;
    for (const [i, decision] of decisions.entries()) await post(of(this.job, "decisions", decision, "undo"), { by, seen: seen + i });
  }

  /** What is refused is said beside the buttons; what was written into the fields stays. */
  async send(work, words, noted = false) {
    one("#decided").textContent = "";
    try {
      await work();
    } catch (error) {
      fault(error, one("#refused"));
      if (error.status === 409) await this.changed();
      return;
    }
    fault(null, one("#refused"));
    if (noted) one("#note").value = "";
    await this.changed();
    one("#decided").textContent = words;
  }
}
