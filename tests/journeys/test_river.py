"""A real flight in raw counts: no temperature anywhere, overlaps agree, warm and cold water come out as areas."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import rasterio
import shapely
from tests.journeys.conftest import groundglow
from tests.journeys.river import river_job

from groundglow.records.finding import Findings
from groundglow.records.tie import Registration

POLYGONS = Path(__file__).parent / "data/river_polygons.json"


@pytest.fixture(scope="module")
def river(shared_data: Callable[[str], Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    job = river_job(shared_data("river-flight"), tmp_path_factory.mktemp("river"))
    groundglow("run", str(job), "--workers", "2")
    return job


def test_no_absolute_temperature_stands_in_any_output(river: Path) -> None:
    with (river / "out/report/findings.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert rows
    assert {r["temperature_c"] for r in rows} == {""}
    assert {r["rise_unit"] for r in rows} == {"counts"}
    assert all("relative only" in r["no_temperature_because"] for r in rows)
    pages = pypdfium2.PdfDocument(river / "out/report/report.pdf")
    text = "\n".join(page.get_textpage().get_text_range() for page in pages)
    assert "Relative values only" in text
    assert not re.search(r"\d\s*(°C|K\b)", text)
    for path in list((river / "out/measure").rglob("*.tif"))[:3]:
        with rasterio.open(path) as raster:
            assert raster.descriptions[0] == "levelled_counts"


def test_no_square_metres_are_stated_where_the_scale_is_unknown(river: Path) -> None:
    found = Findings.from_json((river / "out/find/findings.json").read_text())
    assert all(f.area_m2 is None and f.lon_deg is None for f in found.items)


def test_overlaps_agree_after_levelling_as_published_in_the_goal(river: Path) -> None:
    path = next((river / "out/register").rglob("registration.json"))
    agreement = Registration.from_json(path.read_text()).agreement
    # The flight as recorded: median 7.6, 95th percentile 30 counts over pairs 1, 2, 3 and 5 apart (SOURCE.md).
    assert agreement["after_median"] <= 0.6
    assert agreement["after_p95"] <= 3.0
    assert agreement["held_out_median"] <= 1.0
    assert agreement["held_out_p95"] <= 5.0


def test_warm_and_cold_water_come_out_as_areas(river: Path) -> None:
    found = Findings.from_json((river / "out/find/findings.json").read_text()).found
    assert 1 <= len(found) <= 40
    for drawn in json.loads(POLYGONS.read_text())["polygons"]:
        shape = shapely.Polygon(drawn["polygon"])
        sign = 1 if drawn["what"] == "warm" else -1
        seen = [
            shapely.Polygon(v.candidate.outline).buffer(0)
            for f in found
            for v in f.views
            if f.shape_kind == "area" and f.sign == sign and v.candidate.frame == drawn["frame"]
        ]
        covered = shapely.union_all(seen).intersection(shape).area / shape.area if seen else 0.0
        assert covered >= 0.7, (drawn["frame"], drawn["what"], covered)


def test_every_frame_that_was_set_aside_is_told(river: Path) -> None:
    log = json.loads(next((river / "out/check").rglob("log.json")).read_text())
    assert sum(not e["reason"] for e in log["entries"]) == 120
    assert np.isfinite([e["stats"]["median"] for e in log["entries"]]).all()
