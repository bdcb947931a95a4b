"""Make the pictures of docs/planning.md: maps of two plans, the pilot's card, the day of a wet roof.

    python tools/make_plan_figures.py [docs]

Site and hills are invented, the kit is of the invented catalogue.
"""

from __future__ import annotations

import io
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import rasterio
from PIL import Image

from groundglow.job.plan import plan_ask
from groundglow.kit.fleet import catalogue
from groundglow.records.brief import Brief
from groundglow.records.plan import Plan
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.asking import window_answer, window_ask
from groundglow.steps.plan.card import card_of, card_pdf
from groundglow.steps.plan.charts import day_chart
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.map import plan_map

KIT = {"camera": "demo-640", "aircraft": "demo-quad-work"}
HOUR = {
    "pair": "wet-roof", "place": (47.303, 20.903), "date": "2026-05-12", "air_lowest": "8 C", "air_highest": "21 C",
    "wind": "1.5 m/s", "cloud": "20 %",
}  # fmt: skip
#: Dots of the widest picture.
WIDEST = 900


def hills(folder: Path) -> str:
    """A GeoTIFF of waves 14 m high, 5 m a cell, around the example."""
    north, west, cell = 47.312, 20.892, 0.00005
    rows, columns = 360, 460
    x = (np.arange(columns) * cell * 75_500)[None]
    y = (np.arange(rows) * cell * 111_200)[:, None]
    heights = 100.0 + 14.0 * np.sin(x / 90.0) * np.cos(y / 110.0)
    path = folder / "hills.tif"
    shape = {"height": rows, "width": columns, "count": 1, "dtype": "float32", "crs": "EPSG:4326"}
    with rasterio.open(
        path, "w", driver="GTiff", transform=rasterio.transform.from_origin(west, north, cell, cell), **shape
    ) as file:
        file.write(heights.astype(np.float32), 1)
    return str(path)


def planned(folder: Path, over: str, **asked: Any) -> tuple[PlanAsk, Plan]:
    """A plan over an example file."""
    raw = {"name": over.replace("-", " ").title(), "over": f"{over}.geojson", **KIT, **asked}
    brief = Brief.parse({"title": over, "site": {"name": over}, "plan": [raw]}, "example")
    ask = plan_ask(folder, brief, 0, catalogue())
    return ask, plan_of(ask)


def figures(examples: Path) -> Mapping[str, Image.Image]:
    """All pictures by name."""
    with tempfile.TemporaryDirectory() as scratch:
        terrain = hills(Path(scratch))
        ask, field = planned(examples, "heron-field", sampling="8 cm", terrain=terrain, wind="4 m/s", wind_from_deg=250)
    _, line = planned(examples, "heron-line", sampling="3 cm")
    answer = window_answer(window_ask({**HOUR, "distance": f"{field.height:.0f} m"}))
    card = pypdfium2.PdfDocument(card_pdf(card_of(field, ask.kit, answer, site="Heron Field")))
    drawn = {"plan-map": plan_map(field), "plan-line": plan_map(line), "plan-day": day_chart(answer)}
    opened = {name: Image.open(io.BytesIO(png)) for name, png in drawn.items()}
    return opened | {"plan-card": card[0].render(scale=1.5).to_pil()}


def main(docs: str = "docs") -> None:
    """Write all pictures."""
    for name, picture in figures(Path(docs) / "examples").items():
        if picture.width > WIDEST:
            size = (WIDEST, round(picture.height * WIDEST / picture.width))
            picture = picture.resize(size, Image.Resampling.LANCZOS)
        picture.convert("RGB").save(Path(docs) / "figures" / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
