"""The demo, from one command to a report that a person can hold: every output read back by another program."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pikepdf
import pyogrio
import pypdfium2
import rasterio
from tests.journeys.conftest import Demo, groundglow

from groundglow.records.finding import Findings
from groundglow.simulate import score

STEPS = ("fit", "plan", "check", "register", "measure", "find", "report")


def findings(demo: Demo) -> Findings:
    return Findings.from_json((demo.job / "out/find/findings.json").read_text())


def test_the_demo_ends_with_findings_the_reports_path_and_the_score(demo: Demo) -> None:
    assert "report.pdf" in demo.printed
    assert "contrast-noise limit" in demo.printed
    assert max(len(line) for line in demo.printed.splitlines() if "/" not in line) <= 80
    assert "\x1b[" not in demo.printed


def test_strong_faults_are_found_and_placed(demo: Demo) -> None:
    result = score(demo.job / "out/find/findings.json", demo.truth)
    strong = [level for level in result.levels if level.multiple >= 5]
    assert sum(x.planted for x in strong) >= 10
    assert sum(x.found for x in strong) == sum(x.planted for x in strong)
    assert result.share_within_8_m >= 0.95


def test_reflections_and_the_bird_are_no_findings(demo: Demo) -> None:
    false = score(demo.job / "out/find/findings.json", demo.truth).false_finds
    assert not [name for name in false if "mirrored" in name or "sun" in name or "bird" in name]


def test_false_finds_stay_below_five_a_hectare(demo: Demo) -> None:
    assert score(demo.job / "out/find/findings.json", demo.truth).false_per_hectare <= 5


def test_reflections_and_the_bird_are_dismissed_with_a_reason(demo: Demo) -> None:
    dismissed = findings(demo).of_status("dismissed")
    assert len(dismissed) >= 1
    assert all(f.reason for f in dismissed)


def test_every_temperature_has_its_interval_and_support_says_why(demo: Demo) -> None:
    for f in findings(demo).found:
        assert f.mean_low < f.mean < f.mean_high
        assert f.rise_low < f.rise < f.rise_high
        assert f.support_reason
        assert str(f.support) != "corrected" or "correct" in f.support_reason


def test_the_report_is_an_accessible_archivable_pdf_and_each_page_has_content(demo: Demo) -> None:
    path = demo.job / "out/report/report.pdf"
    with pikepdf.open(path) as pdf:
        meta = str(pdf.Root.Metadata.read_bytes(), "utf-8")
        assert "pdfuaid:part" in meta
        assert "pdfaid:part" in meta
        assert pdf.Root.Lang == "en"
    pages = pypdfium2.PdfDocument(path)
    text = "\n".join(page.get_textpage().get_text_range() for page in pages)
    for heading in ("What was asked", "What was flown", "Conditions", "Findings", "Cautions", "Audit"):
        assert heading in text
    for page in pages:
        assert np.asarray(page.render(scale=0.5).to_pil().convert("L")).std() > 3


def test_findings_as_layers_agree_with_the_table(demo: Demo) -> None:
    out = demo.job / "out/report"
    with (out / "findings.csv").open(encoding="utf-8") as stream:
        rows = [r for r in csv.DictReader(stream) if r["status"] == "found"]
    layer = pyogrio.read_dataframe(out / "findings.gpkg", layer="findings")
    features = json.loads((out / "findings.geojson").read_text())["features"]
    assert len(rows) == len(layer) == len(features)
    for row, point, feature in zip(rows, layer.geometry, features, strict=True):
        lon, lat = feature["geometry"]["coordinates"]
        assert abs(point.x - float(row["lon_deg"])) < 1e-9
        assert abs(point.y - float(row["lat_deg"])) < 1e-9
        assert abs(lon - point.x) < 1e-7
        assert abs(lat - point.y) < 1e-7


def test_a_measured_frame_opens_in_a_gis_with_named_bands_and_units(demo: Demo) -> None:
    path = next((demo.job / "out/measure").rglob("over_0001.tif.tif"))
    with rasterio.open(path) as raster:
        assert raster.descriptions[0] == "surface_temperature"
        assert raster.units[0] == "K"
        assert 250 < np.nanmedian(raster.read(1)) < 330


def test_running_again_does_nothing_and_status_says_done(demo: Demo) -> None:
    again = json.loads(groundglow("run", str(demo.job), "--json").stdout)
    assert {s["step"]: s["done"] for s in again["steps"]} == dict.fromkeys(STEPS, 0)
    states = json.loads(groundglow("status", str(demo.job), "--json").stdout)
    assert {s["state"] for s in states} == {"done"}


def test_the_library_and_the_command_line_tell_the_same_findings(demo: Demo) -> None:
    printed = json.loads(groundglow("run", str(demo.job), "--json").stdout)["findings"]
    read = findings(demo).found
    assert [(f["id"], f["rise"]) for f in printed] == [(f.id, f.rise) for f in read]


def test_the_flights_are_the_plans_own(demo: Demo) -> None:
    """Every frame that was planned was flown where the plan says, within what a receiver errs; the card lies there."""
    for number, flight in ((1, "overview"), (2, "close")):
        planned = rows_of(demo.job / f"out/plan/frames-{number}.csv")
        flown = rows_of(next(demo.job.glob(f"visits/*/flights/{flight}/poses.csv")))
        assert len(planned) == len(flown) >= 36
        away = np.array([[float(a[n]) - float(b[n]) for n in ("lon_deg", "lat_deg", "height_m")]
                         for a, b in zip(planned, flown, strict=True)])  # fmt: skip
        metres = away * (75_500.0, 111_200.0, 1.0)
        assert (np.abs(metres) < 4 * np.array([2.05, 2.05, 4.05])).all()
        assert (np.abs(metres).max(axis=0) > 0).all()
        answer = json.loads((demo.job / f"out/plan/plan-{number}.json").read_text("utf-8"))
        assert answer["met"]
        assert len(pypdfium2.PdfDocument(demo.job / f"out/plan/card-{number}.pdf")) == 1


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))
