"""The simulated job reads like a recorded one, states doubts that are true, and keeps its truth to itself."""

from __future__ import annotations

import csv
import hashlib
import json
import math
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.simulate.conftest import Demo

from groundglow.frames.outline import read_outline
from groundglow.frames.poses import read_poses
from groundglow.frames.reading import list_frames, read_frame
from groundglow.frames.specs import read_brief, read_flight_spec
from groundglow.frames.tables import read_conditions, read_references
from groundglow.job.demo import fly_demo
from groundglow.model.air import SKY_TEMPERATURE_SD
from groundglow.model.surface import material
from groundglow.simulate.demo import draw_nature
from groundglow.simulate.flight.path import DOUBTS
from groundglow.simulate.job_files import STATED
from groundglow.simulate.site.build import build_site

VISIT = "visits/2026-04-16"


def digest(folder: Path) -> dict[str, str]:
    """Digest of every file by relative path."""
    files = sorted(p for p in folder.rglob("*") if p.is_file())
    return {str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}


def test_all_that_the_job_says_can_be_read_without_a_note(demo: Demo) -> None:
    """Brief, plan, weather, references, both flights: nothing unknown, nothing assumed."""
    assert [q.zone for q in read_brief(demo.job / "brief.toml").question] == ["field", "yard", None, "roof", "pond"]
    assert {"field", "yard", "roof", "pond"} <= {z.name for z in read_outline(demo.job / "site.geojson")}
    assert read_conditions(demo.job / VISIT / "conditions.csv").notes == ()
    references = read_references(demo.job / VISIT / "references.csv")
    assert {r.use for r in references} == {"use", "withhold"}
    for name, count in (("overview", 5), ("close", 3)):
        spec = read_flight_spec(demo.flight(name) / "flight.toml")
        poses = read_poses(demo.flight(name) / "poses.csv", spec)
        frames = list_frames(demo.flight(name) / "frames")
        assert (len(poses), len(frames), poses.notes) == (count, count, ())
        assert all(poses.of_frame(f.name) is not None for f in frames)


def test_materials_of_brief_and_plan_are_in_the_catalogue(demo: Demo) -> None:
    """And every surface that the brief names lies on the plan."""
    zones = {z.name: z.surface for z in read_outline(demo.job / "site.geojson")}
    for surface in read_brief(demo.job / "brief.toml").surface:
        assert material(surface.material)
        assert surface.zone == "*" or zones[surface.zone] == surface.material


def test_recorded_poses_differ_from_the_true_ones_by_what_is_possible(demo: Demo) -> None:
    """Within four standard deviations of the doubts, and not at all zero."""
    for name in ("overview", "close"):
        spec = read_flight_spec(demo.flight(name) / "flight.toml")
        poses = read_poses(demo.flight(name) / "poses.csv", spec)
        assert poses.origin is not None
        for entry in demo.truth.flights[name]["frames"]:
            row = poses.of_frame(entry["frame"])
            assert row is not None
            assert row.pose is not None
            true = entry["true"]
            up = row.pose.position[2] - true["position"][2]
            turn = np.arccos(np.clip((np.trace(row.pose.rotation @ np.array(true["rotation"]).T) - 1) / 2, -1, 1))
            assert 0.0 < abs(up) < 4 * 4.03
            assert 0.0 < np.degrees(turn) < 4 * 3.3


def test_poses_state_the_doubts_that_are_drawn(demo: Demo) -> None:
    """Rows hold what varies of the place and all of height and angles; flight.toml the shared part and the clock's."""
    for name in ("overview", "close"):
        spec = read_flight_spec(demo.flight(name) / "flight.toml")
        assert (spec.poses.shared_position_sd_m, spec.poses.clock_sd_s) == (DOUBTS.position[0], DOUBTS.clock_s)
        row = next(csv.DictReader((demo.flight(name) / "poses.csv").read_text("utf-8").splitlines()))
        east, north = (math.radians(float(row[f"{n}_deg_sd"])) * 6.371e6 for n in ("lon", "lat"))
        assert east * math.cos(math.radians(47.31)) == pytest.approx(DOUBTS.position[1], rel=0.01)
        assert north == pytest.approx(DOUBTS.position[1], rel=0.01)
        both = {"height_m": DOUBTS.height, "yaw_deg": DOUBTS.heading_deg, "pitch_deg": DOUBTS.tilt_deg}
        for column, parts in both.items():
            assert float(row[f"{column}_sd"]) == pytest.approx(math.hypot(*parts), abs=0.006)


def test_the_errors_page_says_which_errors_stay_and_which_vary(demo: Demo) -> None:
    """One row an error, with the sizes that the flights are drawn with."""
    page = (demo.job / "ERRORS.md").read_text("utf-8")
    cells = [[c.strip() for c in line.strip("|").split("|")] for line in page.splitlines() if line.startswith("| ")]
    said = {row[0].split(",")[0]: row[1:] for row in cells}
    assert said["position"][:2] == ["1.6 m", "1.2 m"]
    assert said["heading"][:2] == ["2 deg", "2.2 deg"]
    assert said["clock of the camera"][:2] == ["0.5 s", "none"]
    assert said["noise"][:2] == ["none", "0.05 K"]


def test_the_clocks_error_shifts_times_and_nothing_else(demo: Demo) -> None:
    """The truth says by how much, and what it shifts; the camera is where it was."""
    for name in ("overview", "close"):
        flight = demo.truth.flights[name]
        assert "times" in flight["clock_error_shifts"]
        late = [e["recorded"]["time"] - e["true"]["time"] for e in flight["frames"]]
        assert late == pytest.approx([flight["clock_error_s"]] * len(late), abs=1e-6)
        assert 0.0 < abs(flight["clock_error_s"]) < 4 * DOUBTS.clock_s


def test_frames_agree_with_the_true_temperatures(demo: Demo) -> None:
    """Grass is nearly black: counts read back by flight.toml follow the truth, calibration and air aside."""
    spec = read_flight_spec(demo.flight("overview") / "flight.toml")
    a, b, c, d = spec.calibration.coefficients
    error = demo.truth.flights["overview"]["calibration_error_k"]
    pattern = np.load(demo.truth_folder / "overview-pattern.npy")
    for entry in demo.truth.flights["overview"]["frames"]:
        counts = read_frame(demo.flight("overview") / "frames" / entry["frame"], spec).values.astype(float)
        apparent = (14387.768775 / np.log(c / (counts - d) + 1) - b) / a - error - entry["drift_k"] - pattern
        true = (
            cv2.imread(str(demo.truth_folder / "overview" / f"{Path(entry['frame']).stem}.png"), cv2.IMREAD_UNCHANGED)
            / 100
        )
        grass = np.abs(true - 297.15) < 1.5
        away = (apparent - true)[grass]
        assert grass.mean() > 0.05
        assert abs(np.median(away)) < 2.5
        assert away.std() < 0.6


def test_the_same_seed_gives_the_same_bytes(demo: Demo, tmp_path: Path) -> None:
    """Job and truth, file by file; another seed gives others."""
    fly_demo(tmp_path / "job", tmp_path / "truth", small=True)
    assert digest(tmp_path / "job") == digest(demo.job)
    assert digest(tmp_path / "truth") == digest(demo.truth_folder)


def test_the_truth_lies_apart_from_the_job(demo: Demo) -> None:
    """The job folder names no fault, decoy or true pose."""
    names = " ".join(digest(demo.job))
    assert not any(word in names for word in ("truth", "fault", "decoy", "pattern"))
    texts = [p.read_text("utf-8") for p in demo.job.rglob("*") if p.suffix in (".toml", ".csv", ".geojson")]
    assert not any("fault" in text or "decoy" in text for text in texts)


def test_what_is_stated_of_the_weather_is_true_of_what_is_drawn() -> None:
    """Errors over the stated standard uncertainties have unit rms over many draws; so have sky and emissivity."""
    site, _ = build_site(np.random.default_rng(0))
    draws = [draw_nature(site, np.random.default_rng([3, k])) for k in range(300)]
    air = [
        (d.weather.air_temperature - 273.15 - STATED["air_temperature_c"][0]) / STATED["air_temperature_c"][1]
        for d in draws
    ]
    moist = [(100 * d.weather.relative_humidity - 45.0) / STATED["relative_humidity_pct"][1] for d in draws]
    sky = [d.weather.sky_offset / SKY_TEMPERATURE_SD for d in draws]
    grass = [d.emissivity["grass"] / material("grass").standard_uncertainty for d in draws]
    for standardised in (air, moist, sky, grass):
        assert np.sqrt(np.mean(np.square(standardised))) == pytest.approx(1.0, abs=0.13)


def test_every_kind_of_decoy_is_in_the_truth(demo: Demo) -> None:
    """Boxes, soiling, fixtures, shade, mirrored sun and cloud, a bird: with places or frames."""
    decoys = json.loads((demo.truth_folder / "decoys.json").read_text("utf-8"))
    assert {"junction box", "soiling", "fixture"} == {d["kind"] for d in decoys["standing"]}
    assert "mast" in {d["of"] for d in decoys["shade"]}
    assert {"sun mirrored", "cloud mirrored", "bird"} == {d["kind"] for d in decoys["moving"]}
