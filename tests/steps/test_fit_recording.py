"""What to record: a temperature is never promised from a picture, faint things not from few greys, storage adds up."""

import math
from dataclasses import replace

import pytest

from groundglow.kit.fleet import catalogue
from groundglow.records.fit import Ask, Sky, Target, Warmth, Work
from groundglow.records.kit import RECORDING_KINDS
from groundglow.steps.fit.recording import Taking, recording_advice

TARGET = Target("t", "a thing", 0.5, 0.5, 0.1, "concrete", 0.95, 0.02, Warmth(rise=5.0), "grass", 0.3)
ASK = Ask("q", TARGET, "measure", 0.8, 2.0, 30.0, 10.0, 60.0, Work("area", "an outline is given"), Sky())
SEE = replace(ASK, task="detect", accuracy=None)
CAMERA = replace(next(iter(catalogue().cameras.values())), records=tuple(RECORDING_KINDS), noise=0.05)
TAKING = Taking(frame_rate=9.0, seconds=1200.0, rise=5.0, scene=40.0, speed=5.0, along=25.0)


def ways(ask=ASK, camera=CAMERA, taking=TAKING):
    return {way.kind: way for way in recording_advice(ask, camera, taking).ways}


def test_a_picture_never_serves_a_temperature():
    for name, keeps_temperature in RECORDING_KINDS.items():
        assert ways()[name].serves == keeps_temperature
    assert "loses temperatures" in ways()["picture video"].verdict


def test_a_picture_is_enough_for_seeing_and_what_keeps_more_is_told_too():
    advice = recording_advice(SEE, CAMERA, TAKING)
    assert (advice.enough, advice.fullest) == ("picture video", "raw frames")
    assert "never a temperature" in ways(SEE)["picture video"].verdict


def test_measuring_takes_what_leaves_most_open():
    assert recording_advice(ASK, CAMERA, TAKING).fullest == "raw frames"
    without_raw = replace(CAMERA, records=("corrected frames", "picture frames"))
    advice = recording_advice(ASK, without_raw, TAKING)
    assert (advice.enough, advice.fullest) == ("corrected frames", "corrected frames")
    assert "written down" in ways(camera=without_raw)["corrected frames"].verdict


def test_no_way_is_chosen_where_none_serves():
    advice = recording_advice(ASK, replace(CAMERA, records=("picture frames",)), TAKING)
    assert (advice.enough, advice.fullest) == ("", "")
    assert "No way" in advice.notes[0]


def test_a_faint_thing_in_a_wide_scene_drowns_in_the_greys_of_a_picture():
    """0.5 K in a scene of 60 K: 256 greys of 0.23 K leave two."""
    faint = ways(SEE, taking=replace(TAKING, rise=0.5, scene=60.0))
    assert faint["picture frames"].levels == pytest.approx(0.5 / (60 / 256))
    assert not faint["picture frames"].serves
    assert faint["raw frames"].serves


def test_rounding_adds_a_twelfth_of_the_step_squared():
    narrow = replace(CAMERA, ranges=((253.15, 417.0),))  # 163.85 K over 16384 levels: 10.0 mK
    raw = ways(camera=narrow)["raw frames"]
    assert raw.step == pytest.approx(0.0100, abs=1e-4)
    assert raw.noise == pytest.approx(math.sqrt(0.05**2 + 0.01**2 / 12), rel=1e-6)


def test_storage_is_pixels_times_bits_times_frames():
    """640 x 512 of 16 bit at 9 Hz for 20 minutes: 7.08 GB."""
    detector = replace(CAMERA.detector, columns=640, rows=512)
    raw = ways(camera=replace(CAMERA, detector=detector))["raw frames"]
    assert raw.bytes == pytest.approx(640 * 512 * 2 * 9 * 1200)
    assert raw.bytes_an_hour == pytest.approx(3 * raw.bytes)


def test_a_map_is_told_to_need_pose_and_time_and_how_many_frames():
    """5 m/s over frames 25 m long that overlap by 80 %: one frame a second."""
    notes = " ".join(recording_advice(ASK, CAMERA, TAKING).notes)
    assert "place, attitude and time for each frame" in notes
    assert "from 1 a second on" in notes
    point = " ".join(recording_advice(replace(ASK, work=Work("point", "one thing")), CAMERA, TAKING).notes)
    assert "attitude" not in point
