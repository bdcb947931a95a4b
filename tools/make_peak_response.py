"""Makes ``model/data/peak_response.npz``: the share of a rectangle's rise that its peak pixel shows, on a grid.

Run it after a change of `groundglow.model.targetsize` or `pointspread`; takes a minute or two.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from groundglow.model.pointspread import PointSpread
from groundglow.model.targetsize import target_response

SHORT = np.geomspace(0.3, 60.0, 17)
ASPECT = np.array([1.0, 1.5, 2.5, 5.0])
DIFFRACTION = np.array([0.3, 0.6, 0.9, 1.2, 1.7, 2.5])
LAG = np.array([0.0, 0.3, 0.6, 1.0, 2.0, 4.0])
LONGEST = 98.0


def main(out: Path) -> None:
    """Work out the grid and write it."""
    share, sd = np.empty((2, SHORT.size, ASPECT.size, DIFFRACTION.size, LAG.size))
    for k, diffraction in enumerate(DIFFRACTION):
        for m, lag in enumerate(LAG):
            spread = PointSpread(diffraction=float(diffraction), lag=(0.0, float(lag)))
            for i, short in enumerate(SHORT):
                for j, aspect in enumerate(ASPECT):
                    long = min(short * aspect, LONGEST)
                    found = target_response(long, short, spread, shape="rectangle")
                    share[i, j, k, m], sd[i, j, k, m] = found
            print(f"diffraction {diffraction:g}, lag {lag:g}", flush=True)
    axes = {"short": SHORT, "aspect": ASPECT, "diffraction": DIFFRACTION, "lag": LAG}
    np.savez_compressed(out, share=share.astype(np.float32), sd=sd.astype(np.float32), **axes)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "src/groundglow/model/data/peak_response.npz"))
