"""Make the pictures of docs/seen-before-flying.md: views, a strip, charts, a client's sheet, the matrix.

    python tools/make_fit_figures.py [docs]

The kits are those of the invented catalogue.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import pypdfium2
from PIL import Image

from groundglow import __version__
from groundglow.kit.fleet import catalogue
from groundglow.records.brief import FitQuestion, Site
from groundglow.steps.fit.ask import Setting, ask_of
from groundglow.steps.fit.findings import fit_findings
from groundglow.steps.fit.matrix import kit_matrix
from groundglow.steps.fit.matrix_sheet import matrix_sheet
from groundglow.steps.fit.sheet import Heading, recommendation_sheet, sheet_pictures

SETTING: Final = Setting(site=Site(name="Heron Field", lon_deg=20.9, lat_deg=47.3))
#: Dots of the widest picture: enough to read on a screen.
WIDEST = 1180

QUESTIONS: Final = {
    "person": FitQuestion(
        name="A person lying in a field at night", target="person-lying", task="recognise", probability="80 %",
        area="20 ha", humidity="85 %", air_lowest="4 C", air_highest="12 C", date="2026-10-12", hour=2,
        people_near=True,
    ),
    "clamp": FitQuestion(
        name="Clamps of the east line", target="clamp", task="measure", accuracy="5 K", of="rise", distance="25 m",
        load="70 %", live_parts=True, date="2026-05-12", hour=6,
    ),
    "abroad": FitQuestion(
        name="Cattle on the far pasture", target="cattle", area="60 ha", highest_frame_rate="9 Hz",
        bought_in="Land A", used_in="Land B", date="2026-05-03",
    ),
}  # fmt: skip


def small(picture: Image.Image, path: Path) -> None:
    """Write a picture in few colours, no wider than `WIDEST`."""
    if picture.width > WIDEST:
        size = (WIDEST, round(picture.height * WIDEST / picture.width))
        picture = picture.resize(size, Image.Resampling.LANCZOS)
    few = picture.convert("RGB").quantize(256, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    few.save(path, optimize=True)


def pages(pdf: bytes) -> Image.Image:
    """All pages of a PDF side by side."""
    drawn = [page.render(scale=1.3).to_pil() for page in pypdfium2.PdfDocument(pdf)]
    whole = Image.new("RGB", (sum(p.width for p in drawn), max(p.height for p in drawn)), "white")
    left = 0
    for page in drawn:
        whole.paste(page, (left, 0))
        left += page.width
    return whole


def figures() -> Mapping[str, Image.Image]:
    """All pictures by name."""
    fleet = catalogue()
    found = {name: fit_findings(ask_of(q, SETTING), tuple(fleet.combinations())) for name, q in QUESTIONS.items()}
    made: dict[str, Image.Image] = {}
    for name, findings in found.items():
        for file, png in sheet_pictures(findings).items():
            made[f"fit-{name}-{Path(file).stem}"] = Image.open(io.BytesIO(png))
    heading = Heading("Which kit for the east line?", "Heron Field", "the grid operator", "the survey desk",
                      date=(2026, 4, 16), version=__version__)  # fmt: skip
    made["fit-sheet"] = pages(recommendation_sheet(found["clamp"], heading))
    made["fit-matrix"] = pages(matrix_sheet(kit_matrix(tuple(fleet.cameras.values()), tuple(fleet.aircraft.values()))))
    wanted = ("fit-person-views", "fit-abroad-strip", "fit-clamp-charts", "fit-sheet", "fit-matrix")
    return {name: made[name] for name in wanted}


def main(docs: str = "docs") -> None:
    """Write all pictures."""
    folder = Path(docs) / "figures"
    folder.mkdir(parents=True, exist_ok=True)
    for name, picture in figures().items():
        small(picture, folder / f"{name}.png")


if __name__ == "__main__":
    main(*sys.argv[1:])
