"""Logs and Exif become poses in the local frame; what is not said is an error or a note, never a guess."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.frames.places import LocalPlane
from groundglow.frames.poses import poses_from_stamps, read_poses
from groundglow.model.pose import pixel_to_ground
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Stamp

Write = Callable[[str, str], Path]
Flight = Callable[..., FlightSpec]

HEADER = "frame,time_utc,lon_deg,lat_deg,height_m,yaw_deg,pitch_deg,roll_deg\n"
LOG = (
    HEADER
    + "a.tif,2026-02-03T04:00:00Z,8.000,47.000,450,0,-90,0\n"
    + "b.tif,2026-02-03T04:00:01Z,8.000,47.001,450,90,-60,0\n"
    + "c.tif,2026-02-03T04:00:02Z,8.001,47.002,450,0,-90,0\n"
)
GROUND = {"height_reference": "sea level", "ground_height_m": 400.0}


def test_places_are_metres_about_the_median_and_heights_above_the_ground(written: Write, flight: Flight) -> None:
    """x east, y north, z up from the ground."""
    poses = read_poses(written("poses é.csv", LOG), flight(poses=GROUND))
    assert poses.origin is not None
    assert (poses.origin.lon_deg, poses.origin.lat_deg, poses.origin.height_m) == (8.0, 47.001, 400.0)
    assert (poses.metres_per_unit, poses.ground_height) == (1.0, 0.0)
    first, middle, last = (row.pose.position for row in poses if row.pose is not None)
    np.testing.assert_allclose(middle, [0, 0, 50], atol=1e-6)
    assert first[1] == pytest.approx(-111.2, abs=0.1)  # 0.001 degrees of latitude
    assert last[0] == pytest.approx(76.1, abs=0.1)  # 0.001 degrees of longitude at 47 north


def test_the_middle_of_a_nadir_frame_lies_below_its_camera(written: Write, flight: Flight) -> None:
    """Log, local frame and camera model fit together: through the pixel to the map and back to degrees."""
    poses = read_poses(written("poses.csv", LOG), flight(poses=GROUND))
    row = poses.of_frame("a.tif")
    assert row is not None
    assert row.pose is not None
    assert poses.origin is not None
    ground = pixel_to_ground(319.5, 255.5, row.pose.position, row.pose.rotation, 1000.0, (512, 640))
    lon, lat = LocalPlane(poses.origin).to_geographic(ground[0], ground[1])
    assert (float(lon), float(lat)) == (pytest.approx(8.0, abs=1e-9), pytest.approx(47.0, abs=1e-9))


@pytest.mark.parametrize(
    ("poses", "height", "origin"),
    [
        ({"height_reference": "ground"}, 450.0, 0.0),
        ({"height_reference": "take-off"}, 450.0, 0.0),
        ({"height_reference": "take-off", "ground_height_m": -5.0}, 455.0, -5.0),
        ({"height_reference": "ellipsoid", "ground_height_m": 430.0}, 20.0, 430.0),
    ],
)
def test_what_heights_refer_to(
    written: Write, flight: Flight, poses: dict[str, object], height: float, origin: float
) -> None:
    """Above ground as given; above anything else minus the ground's own height."""
    found = read_poses(written("poses.csv", LOG), flight(poses=poses))
    assert found.rows[0].pose is not None
    assert found.rows[0].pose.position[2] == pytest.approx(height)
    assert found.origin is not None
    assert found.origin.height_m == origin
    assumed = [note for note in found.notes if "level with the take-off" in note]
    assert bool(assumed) == (poses == {"height_reference": "take-off"})


def test_a_height_reference_is_asked_for_and_never_guessed(written: Write, flight: Flight) -> None:
    """The error shows the very line to write."""
    path = written("poses.csv", LOG)
    with pytest.raises(InputError) as caught:
        read_poses(path, flight(poses={}))
    for word in (str(path), "[poses]", 'height_reference = "take-off"', "ground_height_m"):
        assert word in str(caught.value)
    with pytest.raises(InputError, match="ground_height_m = the height of the site above the sea level"):
        read_poses(path, flight(poses={"height_reference": "sea level"}))


def test_stated_doubts_and_those_of_the_log_are_used(written: Write, flight: Flight) -> None:
    """A doubt in the log wins over flight.toml, which wins over the wide default; the default is a note."""
    text = LOG.replace("roll_deg\n", "roll_deg,height_m_sd,yaw_deg_sd,lat_deg_sd\n")
    text = text.replace("450,0,-90,0\n", "450,0,-90,0,0.25,1.5,0.00001\n", 1)
    said = GROUND | {"position_sd_m": 0.5, "attitude_sd_deg": 0.7, "shared_position_sd_m": 0.9}
    poses = read_poses(written("poses.csv", text), flight(poses=said))
    first, second = poses.rows[0].pose, poses.rows[1].pose
    assert first is not None
    assert second is not None
    assert first.position_sd == pytest.approx([0.5, 1.11, 0.25], abs=0.01)
    assert np.degrees(first.attitude_sd) == pytest.approx([0.7, 0.7, 1.5])
    assert second.position_sd == pytest.approx([0.5, 0.5, 3.0])
    assert np.degrees(second.attitude_sd) == pytest.approx([0.7, 0.7, 5.0])
    assert poses.shared_position_sd == 0.9
    assert [n for n in poses.notes if "not stated" in n and "height_sd_m = 3" in n and "position_sd_m = 0.5" not in n]


def test_blank_angles_are_straight_down_along_the_track_with_wide_doubt(written: Write, flight: Flight) -> None:
    """Unknown attitude is an assumption that is counted, told and doubted."""
    text = (
        HEADER + "a.tif,,8.000,47.000,450,,,\n" + "b.tif,,8.001,47.000,450,,,\n" + "c.tif,,8.002,47.000,450,10,-80,1\n"
    )
    poses = read_poses(written("poses.csv", text), flight(poses=GROUND))
    first, last = poses.rows[0].pose, poses.rows[2].pose
    assert first is not None
    assert last is not None
    np.testing.assert_allclose(first.rotation[2], [0, 0, -1], atol=1e-9)
    np.testing.assert_allclose(-first.rotation[1], [1, 0, 0], atol=1e-3)  # image top to the east
    assert np.degrees(first.attitude_sd) == pytest.approx([10, 10, 20])
    assert np.degrees(last.attitude_sd) == pytest.approx([2, 2, 5])
    assert any("2 of 3 frame(s): heading unknown: taken along the track" in n for n in poses.notes)
    assert any("2 of 3 frame(s): pitch or roll unknown" in n for n in poses.notes)


def test_a_blank_place_or_height_leaves_the_frame_without_a_pose(written: Write, flight: Flight) -> None:
    """Its neighbours keep theirs; the reason is told."""
    text = LOG.replace("8.000,47.001,450", ",47.001,450").replace("8.001,47.002,450", "8.001,47.002,")
    poses = read_poses(written("poses.csv", text), flight(poses=GROUND))
    assert [row.pose is None for row in poses] == [False, True, True]
    assert "place" in poses.rows[1].reason
    assert "height" in poses.rows[2].reason


def test_names_match_with_folder_or_without_suffix(written: Write, flight: Flight) -> None:
    """Logs name frames with their folder, or by their stem."""
    text = LOG.replace("a.tif", "card/one/a.tif").replace("b.tif", "b")
    poses = read_poses(written("poses.csv", text), flight(poses=GROUND))
    assert poses.of_frame("a.tif") is poses.rows[0]
    assert poses.of_frame("b.tif") is poses.rows[1]
    assert poses.of_frame("z.tif") is None


def test_foreign_columns_are_mapped(written: Write, flight: Flight) -> None:
    """A log keeps its own names; flight.toml says what they are."""
    text = LOG.replace("lon_deg", "Long").replace("lat_deg", "Lat").replace("frame", "Image")
    columns = {"lon_deg": "Long", "lat_deg": "Lat", "frame": "Image"}
    poses = read_poses(written("poses.csv", text), flight(poses=GROUND | {"columns": columns}))
    assert poses.of_frame("c.tif") is not None
    with pytest.raises(InputError, match=r"Map the file's own names in flight\.toml.*\[poses\.columns\]"):
        read_poses(written("poses.csv", text), flight(poses=GROUND))


def test_a_log_by_time_is_read_between_its_rows(written: Write, flight: Flight) -> None:
    """Without a frame column, a frame's pose is found by its time; the clock's doubt moves the place."""
    text = "\n".join(line.partition(",")[2] for line in LOG.splitlines())
    spec = flight(poses=GROUND | {"clock_sd_s": 0.1, "position_sd_m": 0.0})
    poses = read_poses(written("log.csv", text), spec)
    start = poses.rows[0].time
    assert start is not None
    half = poses.at(start + 0.5)
    assert half is not None
    assert half.position[1] == pytest.approx(-111.2 / 2, abs=0.1)
    assert half.position_sd[1] == pytest.approx(11.12, abs=0.01)  # 0.1 s at 111.2 m/s
    assert poses.at(start - 1) is None
    assert poses.at(start + 60) is None
    assert poses.at(None) is None


def test_camera_times_are_set_right_by_zone_and_offset(written: Write, flight: Flight) -> None:
    """clock_offset_s is how far the clock is ahead."""
    text = LOG.replace("time_utc", "time_camera").replace("Z,", ",")
    said = GROUND | {"time_zone": "+01:00", "clock_offset_s": 2.0}
    poses = read_poses(written("poses.csv", text), flight(poses=said))
    utc = read_poses(written("utc.csv", LOG), flight(poses=GROUND))
    assert utc.rows[0].time is not None
    assert poses.rows[0].time == utc.rows[0].time - 3600 - 2
    unknown = read_poses(written("poses.csv", text), flight(poses=GROUND | {"time_zone": "unknown"}))
    assert any("time zone is unknown" in note for note in unknown.notes)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (LOG.replace("b.tif", "a.tif"), "row 3: frame a.tif is also in row 2"),
        (LOG.replace("47.001", "147.001"), "is no place in degrees"),
        (LOG.replace("-60", "steep"), "row 3: pitch_deg = 'steep'"),
        (LOG.replace("04:00:01", "4.01"), "row 3: time_utc"),
        (HEADER, "no row of poses"),
        ("frame,time_utc\na.tif,2026-02-03T04:00:00Z\n", "has no positions"),
        (HEADER + "a.tif,,,,,,,\n", "has no positions"),
    ],
)
def test_faults_of_a_log_name_file_and_row(written: Write, flight: Flight, text: str, words: str) -> None:
    """Every message leads to the cell."""
    path = written("poses.csv", text)
    with pytest.raises(InputError) as caught:
        read_poses(path, flight(poses=GROUND))
    assert str(path) in str(caught.value)
    assert words in str(caught.value)


def test_an_aircrafts_attitude_is_told_and_goes_with_no_nadir_pitch(written: Write, flight: Flight) -> None:
    """The assumption of a fixed camera is in the notes; a contradiction is an error."""
    path = written("poses.csv", LOG.replace("-90", "0").replace("-60", "0"))
    poses = read_poses(path, flight(poses=GROUND | {"of": "aircraft"}))
    assert any("the aircraft's" in note for note in poses.notes)
    assert poses.rows[0].pose is not None
    np.testing.assert_allclose(poses.rows[0].pose.rotation[2], [0, 0, -1], atol=1e-9)
    with pytest.raises(InputError, match="does not go with"):
        read_poses(path, flight(poses=GROUND | {"of": "aircraft", "pitch_zero": "nadir"}))


STAMPS = {
    "c.tif": Stamp(time=3.0, lon_deg=8.0, lat_deg=47.002, height_m=450.0),
    "a.tif": Stamp(time=1.0, lon_deg=8.0, lat_deg=47.000, height_m=450.0),
    "b.tif": Stamp(time=2.0, lon_deg=8.0, lat_deg=47.001, height_m=450.0, yaw_deg=90.0, pitch_deg=-90.0),
}


def test_exif_alone_is_nadir_with_heading_from_the_track(flight: Flight) -> None:
    """Places in order of time; a direction in the Exif wins over the track."""
    poses = poses_from_stamps(STAMPS, flight(poses=GROUND))
    assert [row.frame for row in poses] == ["a.tif", "b.tif", "c.tif"]
    by_track, by_exif = poses.rows[0].pose, poses.rows[1].pose
    assert by_track is not None
    assert by_exif is not None
    np.testing.assert_allclose(by_track.rotation, [[1, 0, 0], [0, -1, 0], [0, 0, -1]], atol=1e-6)
    np.testing.assert_allclose(-by_exif.rotation[1], [1, 0, 0], atol=1e-6)
    assert by_track.attitude_sd[2] > by_exif.attitude_sd[2]


def test_a_single_frame_has_no_heading_and_says_so(flight: Flight) -> None:
    """Of a direction of which nothing is known the doubt is the whole circle."""
    poses = poses_from_stamps({"a.tif": STAMPS["a.tif"]}, flight(poses=GROUND))
    assert poses.rows[0].pose is not None
    assert np.degrees(poses.rows[0].pose.attitude_sd[2]) == pytest.approx(103.9, abs=0.1)
    assert any("no track" in note for note in poses.notes)


def test_frames_without_any_place_are_told_what_to_do(flight: Flight) -> None:
    """No positions at all is a decision of the user: a log, or none."""
    with pytest.raises(InputError, match='source = "none"'):
        poses_from_stamps({"a.tif": Stamp(time=1.0)}, flight(poses=GROUND))
