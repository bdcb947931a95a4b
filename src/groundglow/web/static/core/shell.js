// What every page has: the switch of tone.

const KEY = "groundglow.tone";
const root = document.documentElement;
const button = document.querySelector("#tone");

function kept() {
  try { return localStorage.getItem(KEY); } catch { return null; }
}

function turn(to) {
  root.dataset.tone = to;
  button.textContent = to === "dark" ? "Paper tone" : "Dark tone";
  document.dispatchEvent(new CustomEvent("tone"));
}

button.addEventListener("click", () => {
  const to = root.dataset.tone === "dark" ? "light" : "dark";
  try { localStorage.setItem(KEY, to); } catch { /* not remembered, yet turned */ }
  turn(to);
});
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", (e) => {
  if (!kept()) turn(e.matches ? "dark" : "light");
});
turn(root.dataset.tone);
