"""Poses of a photogrammetric adjustment, against published ones.

Source: the first rows of the poses published with Abolt et al. (2018), "UAV-based monitoring of groundwater
inputs to surface waters using an economical thermal infrared camera", Optical Engineering (MIT licence): the
same attitude as angles and as a matrix.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from groundglow.errors import InputError
from groundglow.frames.poses import read_poses
from groundglow.records.flight import FlightSpec

Write = Callable[[str, str], Path]
Flight = Callable[..., FlightSpec]

HEADER = "frame,time_camera,x,y,z,omega_deg,phi_deg,kappa_deg,r11,r12,r13,r21,r22,r23,r31,r32,r33\n"
PUBLISHED = (
    HEADER
    + "0.png,2017-02-09T11:03:00,-2.6128108764916425,37.4709936110616370,10.6636487875825010,"
    + "-169.2259456697927100,-4.4538918987290907,-0.5894722259783186,0.9969273863895282,0.0246228148946875,"
    + "-0.0743606297257256,0.0102569813283772,-0.9821706623232595,-0.1877114391972932,-0.0776568129694609,"
    + "0.1863719588837112,-0.9794053871310258\n"
    + "1.png,2017-02-09T11:03:01,-2.5746973451909394,37.1540523254375690,10.4533904271316410,"
    + "-169.6881565131037300,-4.7536563741376181,-1.7425627560128192,0.9960993531888165,0.0447452641191503,"
    + "-0.0760522183485066,0.0303041695025877,-0.9829419736951022,-0.1814021324547633,-0.0828718039358374,"
    + "0.1783898474893808,-0.9804638322881347\n"
)
ROWS = [line.split(",") for line in PUBLISHED.splitlines()]


def only(*names: str) -> str:
    """The published log with some of its columns."""
    kept = [ROWS[0].index(name) for name in ("frame", "x", "y", "z", *names)]
    return "\n".join(",".join(row[i] for i in kept) for row in ROWS) + "\n"


ANGLES = only("omega_deg", "phi_deg", "kappa_deg")
MATRIX = only(*ROWS[0][8:])


def rotations(path: Path, spec: FlightSpec) -> np.ndarray:
    return np.stack([row.pose.rotation for row in read_poses(path, spec) if row.pose is not None])


def test_published_angles_and_matrix_give_one_attitude(written: Write, flight: Flight) -> None:
    """Omega, phi, kappa by our convention reproduce the published matrix to its printed digits."""
    by_angles = rotations(written("angles.csv", ANGLES), flight(poses={}))
    by_matrix = rotations(written("matrix.csv", MATRIX), flight(poses={}))
    np.testing.assert_allclose(by_angles, by_matrix, atol=1e-9)


def test_published_poses_look_where_the_data_set_says(written: Write, flight: Flight) -> None:
    """In that frame the camera looks along +z, tilted by about 16 degrees (the tilt varies along the flight)."""
    poses = read_poses(written("poses.csv", PUBLISHED), flight(poses={}))
    for row in poses:
        assert row.pose is not None
        tilt = np.degrees(np.arccos(row.pose.rotation[2] @ [0, 0, 1]))
        assert 8 < tilt < 20
    assert not any("differ by" in note for note in poses.notes)


def test_a_frame_without_scale_has_no_metres_and_no_origin(written: Write, flight: Flight) -> None:
    """Positions stay in the log's unit; the note says what cannot be stated."""
    poses = read_poses(written("poses.csv", PUBLISHED), flight(poses={}))
    assert (poses.origin, poses.metres_per_unit, poses.ground_height) == (None, None, None)
    assert poses.rows[0].pose is not None
    assert poses.rows[0].pose.position[1] == pytest.approx(37.470993611)
    assert any("no metres" in note for note in poses.notes)
    assert any("10% of the way" in note for note in poses.notes)


def test_a_known_scale_gives_metres(written: Write, flight: Flight) -> None:
    """Positions and the log's own doubts are scaled; doubts given in m are not."""
    text = ANGLES.replace("kappa_deg", "kappa_deg,x_sd").replace("-0.5894722259783186", "-0.5894722259783186,0.5")
    text = text.replace("-1.7425627560128192", "-1.7425627560128192,")
    said = {"metres_per_unit": 2.0, "ground_height_m": -20.0, "position_sd_m": 0.3, "height_sd_m": 0.6}
    poses = read_poses(written("poses.csv", text), flight(poses=said))
    assert (poses.metres_per_unit, poses.ground_height) == (1.0, -20.0)
    first, second = (row.pose for row in poses)
    assert first is not None
    assert second is not None
    assert first.position[1] == pytest.approx(2 * 37.470993611)
    assert first.position_sd == pytest.approx([1.0, 0.3, 0.6])
    assert second.position_sd == pytest.approx([0.3, 0.3, 0.6])


def test_doubts_in_metres_need_a_scale(written: Write, flight: Flight) -> None:
    """Half a metre means nothing in units of unknown length."""
    with pytest.raises(InputError, match="position_sd_m in m, but the log's unit is unknown"):
        read_poses(written("poses.csv", PUBLISHED), flight(poses={"position_sd_m": 0.5}))


def test_the_other_sense_and_the_other_axes(written: Write, flight: Flight) -> None:
    """The same attitude written camera-to-world, or with y down looking along z, gives the same rotation."""
    expected = rotations(written("matrix.csv", MATRIX), flight(poses={}))
    names = [f"r{i}{k}" for i in (1, 2, 3) for k in (1, 2, 3)]
    swapped = ",".join(f"r{k}{i}" for i in (1, 2, 3) for k in (1, 2, 3))
    turned = MATRIX.replace(",".join(names), swapped)
    found = rotations(written("turned.csv", turned), flight(poses={"rotation": "camera-to-world"}))
    np.testing.assert_allclose(found, expected, atol=1e-12)
    plain = "frame,x,y,z," + ",".join(names) + "\n"
    for number, matrix in enumerate(expected):
        plain += f"{number}.png,0,0,{number}," + ",".join(repr(float(v)) for v in matrix.ravel()) + "\n"
    axes = flight(poses={"camera_axes": "y-down-looking-plus-z"})
    np.testing.assert_allclose(rotations(written("plain.csv", plain), axes), expected, atol=1e-12)


def test_matrices_are_made_exact_rotations(written: Write, flight: Flight) -> None:
    """Rounded digits of a log do not pass into the model."""
    rounded = "\n".join(
        ",".join(v if i < 4 or number == 0 else f"{float(v):.4f}" for i, v in enumerate(row.split(",")))
        for number, row in enumerate(MATRIX.splitlines())
    )
    for matrix in rotations(written("rounded.csv", rounded), flight(poses={})):
        np.testing.assert_allclose(matrix @ matrix.T, np.eye(3), atol=1e-12)


def test_what_is_no_rotation_is_refused_by_row(written: Write, flight: Flight) -> None:
    """Columns out of order show as a mirror or as rows of wrong length."""
    mirrored = MATRIX.replace("r11,r12,r13,r21,r22,r23", "r21,r22,r23,r11,r12,r13")
    scaled = MATRIX.replace("0.9960993531888165", "1.9960993531888165")
    for text, row in ((mirrored, 2), (scaled, 3)):
        with pytest.raises(InputError, match=rf"row {row}: r11\.\.r33 is no rotation"):
            read_poses(written("poses.csv", text), flight(poses={}))


def test_a_matrix_that_contradicts_its_angles_is_noted(written: Write, flight: Flight) -> None:
    """Which of the two is used is told."""
    text = PUBLISHED.replace("-0.5894722259783186", "10.0")
    notes = read_poses(written("poses.csv", text), flight(poses={})).notes
    assert any("differ by up to 10." in note and "the matrix is used" in note for note in notes)


def test_positions_without_attitude_are_refused(written: Write, flight: Flight) -> None:
    """A local frame has no north and no down to assume."""
    with pytest.raises(InputError, match="without attitude"):
        read_poses(written("poses.csv", only()), flight(poses={}))


def test_between_two_rows_the_attitude_turns_evenly(written: Write, flight: Flight) -> None:
    """Half way in time is half of the turn, by an independent rotation library."""
    poses = read_poses(written("poses.csv", PUBLISHED), flight(poses={}))
    first, second = (row for row in poses)
    assert first.pose is not None
    assert second.pose is not None
    assert first.time is not None
    between = poses.at(first.time + 0.5)
    assert between is not None
    to_middle = Rotation.from_matrix(between.rotation @ first.pose.rotation.T).magnitude()
    whole = Rotation.from_matrix(second.pose.rotation @ first.pose.rotation.T).magnitude()
    assert to_middle == pytest.approx(whole / 2)
    np.testing.assert_allclose(between.position, (first.pose.position + second.pose.position) / 2)
