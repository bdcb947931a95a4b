// Before anything is painted: paper or dark, as chosen here before or else as the system says.
(() => {
  let chosen = "";
  try { chosen = localStorage.getItem("groundglow.tone") || ""; } catch { /* not allowed to remember */ }
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  document.documentElement.dataset.tone = chosen || (dark ? "dark" : "light");
})();
