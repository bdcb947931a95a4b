"""Plans: what each step of a job reads and writes, on a tiny flight of eight frames."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest

from groundglow.frames.fields import read_field
from groundglow.job.folder import JobFolder, open_job
from groundglow.job.inputs import log_of, registration_of
from groundglow.job.ledger import Ledger
from groundglow.job.plans import PLANS
from groundglow.job.plans.check import log_path, used_frames
from groundglow.job.plans.find import findings_path
from groundglow.job.plans.measure import field_path, measured_frames, method_path
from groundglow.job.plans.register import pattern_path, registered_log, registration_path
from groundglow.job.runner import Item, Runner
from groundglow.records.finding import Findings

SHAPE, FOCAL, HEIGHT, STEP_PX = (96, 128), 128.0, 64.0, 12
#: A warm thing of 8 px on the ground, in pixels of the first frame, and its rise in counts.
SPOT, RISE = (64, 20), 120.0
BRIEF = """
title = "An invented yard"
[site]
name = "Yard"
[[question]]
name = "warm spot"
looking_for = "spot"
sign = "hot"
smallest_px = 5
largest_px = 12
"""
FLIGHT = """
frames = "frames"
[values]
kind = "counts"
[camera]
pitch_um = 12.0
focal_mm = 1.536
width_px = 128
height_px = 96
[poses]
file = "poses.csv"
rotation = "world-to-camera"
camera_axes = "y-down-looking-plus-z"
metres_per_unit = 1.0
height_reference = "ground"
time_zone = "UTC"
"""


def write_job(root: Path) -> JobFolder:
    """Eight frames northward over textured ground, one of them cut short."""
    flight = root / "visits/2030-05-01/flights/a"
    (flight / "frames").mkdir(parents=True)
    (root / "brief.toml").write_text(BRIEF)
    (flight / "flight.toml").write_text(FLIGHT)
    rng = np.random.default_rng(3)
    tall = (SHAPE[0] + 7 * STEP_PX, SHAPE[1])
    ground = sum(cv2.GaussianBlur(rng.normal(size=tall), (0, 0), s) * 12 * s for s in (1.2, 3.0, 9.0)) + 8000
    row = 7 * STEP_PX + SPOT[1]
    cv2.circle(spot := np.zeros(tall), (SPOT[0], row), 4, RISE, -1)
    ground = ground + cv2.GaussianBlur(spot, (0, 0), 0.7)
    poses = ["frame,time_utc,x,y,z,omega_deg,phi_deg,kappa_deg"]
    for k in range(8):
        top = (7 - k) * STEP_PX
        seen = ground[top : top + SHAPE[0]] + rng.normal(0, 1.5, SHAPE)
        np.save(flight / f"frames/f{k}.npy", np.round(seen).astype(np.uint16))
        north = k * STEP_PX * HEIGHT / FOCAL
        poses.append(f"f{k}.npy,2030-05-01T06:00:{2 * k:02}Z,0,{north},{HEIGHT},180,0,0")
    bad = flight / "frames/f5.npy"
    bad.write_bytes(bad.read_bytes()[:2000])
    (flight / "poses.csv").write_text("\n".join(poses) + "\n")
    return open_job(root)


def run(job: JobFolder, *steps: str) -> dict[str, tuple[int, int]]:
    """Items done and kept of each step."""
    ledger = Ledger(job.ledger, job.root)
    runner = Runner(job, ledger, None, None)
    for step in steps:
        for batch in PLANS[step](job, ledger):
            runner.do(batch)
    ledger.close()
    return {step: (t.done, t.kept) for step, t in runner.tallies.items()}


STEPS = ("check", "register", "measure", "find")


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> JobFolder:
    """The job after check, register, measure and find; not to be written to."""
    job = write_job(tmp_path_factory.mktemp("plans") / "job")
    run(job, *STEPS)
    return job


@pytest.fixture
def copied(done: JobFolder, tmp_path: Path) -> JobFolder:
    shutil.copytree(done.root, tmp_path / "job")
    return open_job(tmp_path / "job")


def test_check_writes_a_log_of_all_frames_and_sets_the_bad_one_aside(done: JobFolder) -> None:
    (flight,) = done.flights()
    log = log_of(log_path(done, flight))
    assert [e.name for e in log.entries] == [f"f{k}.npy" for k in range(8)]
    assert [e.name for e in log.entries if not e.used] == ["f5.npy"]
    assert [p.name for p in used_frames(done, flight)] == [f"f{k}.npy" for k in range(8) if k != 5]
    assert log.focal_px == pytest.approx(FOCAL)
    assert json.loads(log_path(done, flight).with_name("coverage.json").read_text()) == []


def test_register_ties_frames_by_their_true_shift_and_writes_a_pattern_of_their_shape(done: JobFolder) -> None:
    """Frames follow each other northward by twelve pixels."""
    (flight,) = done.flights()
    ties = {(t.a, t.b): t for t in registration_of(registration_path(done, flight)).ties}
    first = np.reshape(ties["f0.npy", "f1.npy"].homography, (3, 3))
    middle = first @ (63.5, 40.0, 1.0)
    np.testing.assert_allclose(middle[:2] / middle[2], (63.5, 40.0 + STEP_PX), atol=0.5)
    assert np.load(pattern_path(done, flight)).shape == SHAPE
    assert all("f5.npy" not in pair for pair in ties)


def test_registering_fits_the_ground_where_local_poses_say_nothing_of_it(done: JobFolder) -> None:
    """The invented ground is level, at the height that poses count from."""
    (flight,) = done.flights()
    np.testing.assert_allclose(registered_log(done, flight).ground_plane or (), (0, 0, 1, 0), atol=0.05)


def test_measure_writes_a_field_for_every_frame_in_use_and_says_how(done: JobFolder) -> None:
    (flight,) = done.flights()
    frames = measured_frames(done, flight)
    assert frames == used_frames(done, flight)
    field = read_field(field_path(done, flight, frames[0]))
    assert (field.value.shape, field.unit) == (SHAPE, "counts")
    assert method_path(done, flight).is_file()


def test_find_lists_the_one_warm_thing_at_its_place_with_its_rise(done: JobFolder) -> None:
    """Seen by all seven frames in use; counts without calibration state no temperature."""
    (one,) = Findings.from_json(findings_path(done).read_text()).found
    assert len(one.views) == len({v.candidate.frame for v in one.views}) >= 5
    assert one.rise == pytest.approx(RISE, rel=0.2)
    assert one.x == pytest.approx((SPOT[0] - 63.5) * HEIGHT / FOCAL, abs=1.0)
    assert one.y == pytest.approx((47.5 - SPOT[1]) * HEIGHT / FOCAL, abs=1.0)
    assert one.unit == "counts"
    assert one.support.value == "not supported"


def test_nothing_is_done_twice(copied: JobFolder) -> None:
    again = run(copied, *STEPS)
    assert all(made == 0 and kept > 0 for made, kept in again.values())


def test_a_changed_question_searches_again_and_measures_what_it_reads(copied: JobFolder) -> None:
    """The brief decides what is found: candidates of all frames and the merging are made anew; ties are not."""
    copied.brief.write_text(BRIEF.replace('sign = "hot"', 'sign = "cold"'))
    again = run(copied, "register", "find")
    assert again["register"][0] == 0
    assert again["find"][0] >= 8
    assert again["find"][1] == 0
    assert not Findings.from_json(findings_path(copied).read_text()).found


def test_a_frame_without_a_field_is_not_searched_and_the_rest_is(copied: JobFolder) -> None:
    """Measuring may set a frame aside: finding does without it."""
    (flight,) = copied.flights()
    gone = used_frames(copied, flight)[2]
    field_path(copied, flight, gone).unlink()
    run(copied, "find")
    (one,) = Findings.from_json(findings_path(copied).read_text()).found
    assert gone.name not in {v.candidate.frame for v in one.views}


def items_of(job: JobFolder) -> list[Item]:
    ledger = Ledger(job.ledger, job.root)
    items = [i for step in (*STEPS, "report") for batch in PLANS[step](job, ledger) for i in batch]
    ledger.close()
    return items


def test_no_two_items_write_one_file_or_share_a_key_and_each_stays_in_out(done: JobFolder) -> None:
    items = items_of(done)
    outputs = [p for i in items for p in i.outputs]
    assert len(set(outputs)) == len(outputs)
    assert len({(i.step, i.key) for i in items}) == len(items)
    assert all(p.is_relative_to(done.out) for p in outputs)


def test_every_input_of_an_item_is_recorded_or_made_before_it(done: JobFolder) -> None:
    """Else a step would read what a later one writes, and a change would go unseen."""
    made: set[Path] = set()
    for item in items_of(done):
        inside = [p for p in item.inputs if p.is_relative_to(done.out)]
        assert set(inside) <= made, item.key
        made |= set(item.outputs)
