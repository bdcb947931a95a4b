"""The score counts what was found, what was false and why, against a truth that it did not make."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.simulate.conftest import Demo

from groundglow.errors import FileError
from groundglow.frames.places import LocalPlane
from groundglow.records.finding import Candidate, Finding, Findings, Support, View
from groundglow.simulate.scoring import Score, score

OVERVIEW = "2026-04-16/overview"


def candidate(frame: str, column: float, row: float, sign: int, form: str) -> Candidate:
    """A departure at a pixel."""
    box = (round(column) - 2, round(row) - 2, round(column) + 3, round(row) + 3)
    return Candidate(frame, form, sign, column, row, box, 9, 305.0, 304.0, 300.0, 4.0, 0.1, 1.0, 9.0, False, "", ())


def finding(
    flight: str, seen: list[Candidate], *, place: tuple[float, float] | None = None, name: str = "x"
) -> Finding:
    """A finding with these sights, at a place in degrees."""
    first = seen[0]
    lon, lat = place if place is not None else (None, None)
    return Finding(
        id=name,
        number=1,
        question="q",
        flight=flight,
        shape_kind=first.shape_kind,
        sign=first.sign,
        unit="K",
        frame=first.frame,
        box=first.box,
        area_px=9,
        area_m2=0.1,
        size_m=0.3,
        lon_deg=lon,
        lat_deg=lat,
        x=0.0,
        y=0.0,
        position_sd_m=2.0,
        peak=305.0,
        mean=304.0,
        mean_low=303.0,
        mean_high=305.0,
        background=300.0,
        rise=4.0,
        rise_low=3.8,
        rise_high=4.2,
        contrast_noise=9.0,
        support=Support.SUPPORTED,
        support_reason="",
        status="found",
        reason="",
        cause="",
        in_view=len(seen),
        views=tuple(View(c, None, None, None) for c in seen),
    )


def of_fault(fault: dict[str, Any], flight: str, *, name: str = "x") -> Finding:
    """The finding that a perfect search would make of a fault, a quarter pixel off in each frame."""
    seen = [
        candidate(s["frame"], s["column"] + 0.25, s["row"], fault["sign"], fault["form"]) for s in fault["seen"][flight]
    ]
    return finding(flight, seen, place=(fault["lon_deg"], fault["lat_deg"]), name=name)


def shown(demo: Demo) -> list[tuple[dict[str, Any], str]]:
    """Faults and flights that show them."""
    return [(f, flight) for f in demo.truth.faults for flight, seen in f["seen"].items() if seen]


def scored(demo: Demo, folder: Path, findings: list[Finding]) -> Score:
    """The score of these findings."""
    path = folder / "findings.json"
    path.write_text(Findings(tuple(findings), ()).to_json(), "utf-8")
    return score(path, demo.truth_folder)


def test_a_perfect_search_finds_all_and_nothing_else(demo: Demo, tmp_path: Path) -> None:
    """Both flights may find the same fault: neither is false."""
    perfect = [of_fault(f, flight, name=f"{f['id']} {flight}") for f, flight in shown(demo)]
    got = scored(demo, tmp_path, perfect)
    assert sum(x.planted for x in got.levels) == len({f["id"] for f, _ in shown(demo) if f["form"] == "spot"})
    assert all(x.found == x.planted for x in got.levels)
    assert all(got.areas.values())
    assert (got.false_finds, got.no_error, got.false_per_hectare) == ({}, {}, 0.0)
    assert got.share_within_8_m == got.share_within_95 == 1.0


def test_an_empty_search_finds_nothing(demo: Demo, tmp_path: Path) -> None:
    """And has no places to judge."""
    got = scored(demo, tmp_path, [])
    assert {x.found for x in got.levels} == {0}
    assert np.isnan(got.share_within_8_m)
    assert "none placed" in got.lines()[-1]


def test_the_wrong_sign_is_no_find(demo: Demo, tmp_path: Path) -> None:
    """A cold finding on a hot spot is false, but for those that lie on what is no error."""
    made = []
    for fault, flight in shown(demo):
        right = of_fault(fault, flight, name=f"{fault['id']} {flight}")
        views = tuple(replace(v, candidate=replace(v.candidate, sign=-v.candidate.sign)) for v in right.views)
        made.append(replace(right, sign=-right.sign, views=views))
    got = scored(demo, tmp_path, made)
    assert got.matches == ()
    assert sum(got.false_finds.values()) + sum(got.no_error.values()) == len(made)
    assert sum(got.false_finds.values()) >= 3


def test_a_second_finding_of_a_fault_is_false(demo: Demo, tmp_path: Path) -> None:
    """One to one within a flight: the nearer wins."""
    fault, flight = shown(demo)[0]
    near = of_fault(fault, flight, name="near")
    far_views = tuple(replace(v, candidate=replace(v.candidate, column=v.candidate.column + 2.0)) for v in near.views)
    got = scored(demo, tmp_path, [replace(near, id="far", views=far_views), near])
    assert got.false_finds == {"second finding": 1}


def test_errors_of_places_are_measured_not_chosen(demo: Demo, tmp_path: Path) -> None:
    """The picture decides what was found; 5 m off is within 8 m but outside 4.9 m (95 % for 2 m), 30 m off neither."""
    fault, flight = next((f, k) for f, k in shown(demo) if f["form"] == "spot")
    plane = LocalPlane(demo.truth.origin)
    for metres, near in ((5.0, 1.0), (30.0, 0.0)):
        lon, lat = plane.to_geographic(fault["x"] + metres, fault["y"])
        got = scored(demo, tmp_path, [replace(of_fault(fault, flight), lon_deg=float(lon), lat_deg=float(lat))])
        assert len(got.matches) == 1
        assert (got.share_within_8_m, got.share_within_95) == (near, 0.0)


def test_only_junction_boxes_soiling_and_shade_are_no_error(demo: Demo, tmp_path: Path) -> None:
    """A warm junction box is a departure; a fixture in health, the mirrored sun and the bird are false."""
    decoys = json.loads((demo.truth_folder / "decoys.json").read_text("utf-8"))
    frames = [(f"2026-04-16/{n}", e["frame"]) for n, fl in demo.truth.flights.items() for e in fl["frames"]]
    made = []
    for kind in ("junction box", "fixture"):
        for thing in (d for d in decoys["standing"] if d["kind"] == kind and not d["of"].startswith("clamp")):
            place = np.array([[thing["x"], thing["y"], thing["z"]]])
            spots = [(fl, fr, demo.truth.pixels(fl, fr, place)) for fl, fr in frames]
            inside = [
                (fl, fr, p[0]) for fl, fr, p in spots if p is not None and 5 < p[0, 0] < 634 and 5 < p[0, 1] < 506
            ]
            if inside:
                flight, frame, pixel = inside[0]
                made.append(finding(flight, [candidate(frame, *pixel, 1, "spot")], name=kind))
                break
    for kind in ("sun mirrored", "bird"):
        thing = next(d for d in decoys["moving"] if d["kind"] == kind)
        made.append(finding(thing["flight"], [candidate(thing["frame"], thing["column"], thing["row"], 1, "spot")]))
    got = scored(demo, tmp_path, made)
    assert got.no_error == {"junction box": 1}
    assert got.false_finds == {"bird": 1, "fixture": 1, "sun mirrored": 1}
    assert got.false_per_hectare == pytest.approx(3 / demo.truth.site["hectares"])


def test_only_what_is_kept_counts(demo: Demo, tmp_path: Path) -> None:
    """Dismissed and unconfirmed findings are neither found nor false."""
    fault, flight = shown(demo)[0]
    got = scored(demo, tmp_path, [replace(of_fault(fault, flight), status=s) for s in ("dismissed", "unconfirmed")])
    assert (got.matches, got.false_finds) == ((), {})


def test_a_folder_without_truth_is_refused(tmp_path: Path) -> None:
    """With what to give instead."""
    with pytest.raises(FileError, match="holds no truth"):
        score(tmp_path / "findings.json", tmp_path)
