"""Write the table and the figure of docs/target-size.md from the model.

    python tools/make_target_size_page.py [docs]

Needs matplotlib for the figure.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from groundglow.model.pointspread import PointSpread, point_spread
from groundglow.model.targetsize import Reading, smallest_size, target_response

SIZES = (1, 2, 3, 4, 5, 7, 10, 15, 20)
START, END = "<!-- table: made by tools/make_target_size_page.py -->", "<!-- end of table -->"

#: Name and point spread of four cameras of our own invention, from a very good lens to a poor one in motion.
LENSES: dict[str, PointSpread] = {
    "A: f/1.0, no aberration": point_spread(12e-6, 1.0),
    "B: f/1.25, aberration 6 µm": point_spread(12e-6, 1.25, aberration=6e-6),
    "C: f/1.4, aberration 15 µm": point_spread(12e-6, 1.4, aberration=15e-6),
    "D: as B, 10 ms lag at 90 px/s": point_spread(
        12e-6, 1.25, aberration=6e-6, velocity=(0.0, 90.0), time_constant=10e-3
    ),
}


def shares(spread: PointSpread, reading: Reading) -> list[float]:
    """Share of its rise that a square of each size shows."""
    return [target_response(n, n, spread, shape="rectangle", reading=reading).share for n in SIZES]


def table() -> str:
    """Rows of sizes, columns of lenses: share shown by the peak pixel / the mean over the whole target."""
    whole = Reading(core=1.0)
    columns = [list(zip(shares(s, Reading()), shares(s, whole), strict=True)) for s in LENSES.values()]
    lines = [f"| pixels | {' | '.join(LENSES)} |", "|---" * (len(LENSES) + 1) + "|"]
    for k, size in enumerate(SIZES):
        cells = (f"{peak:.0%} / {mean:.0%}" for peak, mean in (c[k] for c in columns))
        lines.append(f"| {size} x {size} | {' | '.join(cells)} |")
    for share in (0.90, 0.95):
        cells = (f"{smallest_size(share, s):.1f} px" for s in LENSES.values())
        lines.append(f"| peak shows {share:.0%} from | {' | '.join(cells)} |")
    return "\n".join(lines)


def with_table(page: str) -> str:
    """The page with its table made anew."""
    before, rest = page.split(START)
    return f"{before}{START}\n\n{table()}\n\n{END}{rest.split(END)[1]}"


def figure(path: Path) -> None:
    """Share of the rise by size for the lenses."""
    import matplotlib

    matplotlib.use("Agg")
    matplotlib.rcParams.update({"svg.hashsalt": "target-size", "font.size": 9})
    from matplotlib import pyplot as plt

    sizes = np.geomspace(0.7, 25, 40)
    _, axes = plt.subplots(figsize=(6.2, 3.6), layout="constrained")
    for (name, spread), style in zip(LENSES.items(), ("-", "--", "-.", ":"), strict=True):
        found = [target_response(n, n, spread, shape="rectangle") for n in sizes]
        share, sd = np.array([r.share for r in found]), np.array([r.sd for r in found])
        (line,) = axes.plot(sizes, share, style, label=name)
        axes.fill_between(sizes, share - sd, share + sd, color=line.get_color(), alpha=0.2, lw=0)
    for size in (3, 10):
        axes.axvline(size, color="0.6", lw=0.8)
        axes.text(size * 1.03, 0.02, f"{size} x {size}", color="0.4")
    axes.set(
        xscale="log", xlabel="side of a square target (pixels)", ylabel="share of the rise that the peak pixel shows"
    )
    axes.set(xticks=SIZES, xticklabels=SIZES, ylim=(0, 1), xlim=(0.7, 25))
    axes.minorticks_off()
    axes.legend(frameon=False, loc="center right")
    plt.savefig(path, metadata={"Date": None})


def main(folder: Path) -> None:
    """Rewrite the page's table and its figure."""
    page = folder / "target-size.md"
    page.write_text(with_table(page.read_text(encoding="utf-8")), encoding="utf-8")
    figure(folder / "figures" / "target-size.svg")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "docs"))
