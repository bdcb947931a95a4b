"""Writes the colour maps that the page paints with, from cmap's perceptual ones.

    python tools/make_colours.py

Maps whose lightness is not monotone (or, for departures, not symmetric) are left out: they invent edges.
"""

from __future__ import annotations

import json
from pathlib import Path

import cmap
import numpy as np

TARGET = Path(__file__).parents[1] / "src/groundglow/web/static/frame/colours.json"
#: Kind, name in words, map. The first two are for departures, on paper and in the dark; the others for temperatures.
MAPS = (
    ("departure", "pale where nothing departs", "crameri:vik"),
    ("departure", "dark where nothing departs", "crameri:berlin"),
    ("temperature", "dusk to straw", "crameri:lajolla"),
    ("temperature", "sea to rose", "crameri:batlow"),
    ("temperature", "white is hot", "matlab:gray"),
    ("temperature", "black is hot", "matlab:gray_r"),
)
COUNT = 128


def main() -> None:
    """Write the file."""
    maps = [{"kind": kind, "words": words, "source": name, "rgb": _colours(name)} for kind, words, name in MAPS]
    TARGET.write_text(json.dumps({"maps": maps}, separators=(",", ":")) + "\n", "utf-8")
    print(f"{TARGET.name}: {len(maps)} maps of {COUNT} colours")


def _colours(name: str) -> list[list[int]]:
    table = np.asarray(cmap.Colormap(name).lut(COUNT))[:, :3] * 255
    return [[int(v) for v in row] for row in table.round()]


if __name__ == "__main__":
    main()
