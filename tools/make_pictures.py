"""Make the README's pictures from a finished demo job: pages of its report and frames as measured.

Run ``make demo`` first, then ``make pictures``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pypdfium2
from PIL import Image

from groundglow.frames.fields import read_field

OUT = Path(__file__).resolve().parents[1] / "docs/pictures"


def pages(pdf: Path) -> None:
    """First page and first page of findings."""
    document = pypdfium2.PdfDocument(pdf)
    shown = {"report-first": 0, "report-findings": 5}
    for name, number in shown.items():
        page = document[min(number, len(document) - 1)]
        page.render(scale=1.1).to_pil().convert("P", palette=Image.Palette.ADAPTIVE).save(
            OUT / f"{name}.png", optimize=True
        )


def frame(path: Path, name: str) -> None:
    """One measured frame, white hot."""
    value = read_field(path).value
    low, high = np.nanpercentile(value, [1, 99.5])
    grey = np.clip((value - low) / (high - low) * 255, 0, 255).astype(np.uint8)
    Image.fromarray(grey).save(OUT / f"{name}.png", optimize=True)


def main(job: Path) -> None:
    """Write all pictures."""
    OUT.mkdir(parents=True, exist_ok=True)
    pages(job / "out/report/report.pdf")
    frames = sorted((job / "out/measure").glob("*/overview/*.tif"))
    frame(frames[14], "frame-overview")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "demo-job"))
