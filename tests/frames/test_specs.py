"""Files that a person writes are read with their meaning checked; errors name file, field and line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from groundglow.errors import FileError, InputError
from groundglow.frames.specs import read_brief, read_camera, read_flight_spec, read_toml

Write = Callable[[str, str], Path]

COUNTS = '[values]\nkind = "counts"\n'


def test_a_flight_spec_with_its_defaults(written: Write) -> None:
    """Two lines are enough for a flight of counts with Exif."""
    spec = read_flight_spec(written("flight.toml", COUNTS))
    assert spec.values.kind == "counts"
    assert spec.calibration.form == "none"
    assert spec.poses.source == "exif"


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    """Files come from all kinds of editors."""
    path = tmp_path / "flight é.toml"
    path.write_bytes(b"\xef\xbb\xbf" + COUNTS.replace("\n", "\r\n").encode())
    assert read_flight_spec(path).values.kind == "counts"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[values]\nkind = "counts\n', ["line 2", "kind = "]),
        ("[values\nkind = 1\n", ["line 1", "[values"]),
        ("[values]\nkind = counts\n", ["line 2", "kind = counts"]),
        ('[values]\nkind = "counts"\n[values]\n', ["line 3"]),
    ],
)
def test_bad_syntax_names_file_line_and_shows_it(written: Write, text: str, words: list[str]) -> None:
    """A person finds the spot without counting."""
    path = written("flight.toml", text)
    with pytest.raises(InputError) as caught:
        read_toml(path)
    assert str(path) in str(caught.value)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "values is missing"),
        ('[values]\nkind = "heat"\n', "values.kind"),
        ('[values]\nkind = "counts"\nscael = 2.0\n', "did you mean scale"),
        (COUNTS + '[poses]\ntime_zone = "Mars/Base"\n', "time_zone"),
        ('[values]\nkind = "apparent_temperature"\n', 'write "K" or "C"'),
        ('[values]\nkind = "radiance"\nunit = "K"\n', 'write "W m-2 sr-1"'),
        ('[values]\nkind = "counts"\nscale = 0.0\n', "values.scale is 0"),
        (COUNTS + '[calibration]\nform = "linear"\nunit = "K"\ncoefficients = [1.0]\n', "linear takes 2"),
        (COUNTS + '[calibration]\nform = "linear"\ncoefficients = [1.0, 2.0]\n', 'write "K" or "C"'),
        (
            COUNTS + '[calibration]\nform = "linear"\nquantity = "radiance"\ncoefficients = [1.0, 2.0]\nunit = "K"\n',
            'write "W m-2 sr-1"',
        ),
        (
            COUNTS + '[calibration]\nform = "sakuma_hattori"\ncoefficients = [9.0, 1.0, 1.0, 0.0]\nunit = "C"\n',
            'temperature in "K"',
        ),
        (COUNTS + "[calibration]\ncoefficients = [1.0, 2.0]\n", "calibration.form is missing"),
        (
            '[values]\nkind = "radiance"\nunit = "W m-2 sr-1"\n'
            '[calibration]\nform = "linear"\nunit = "K"\ncoefficients = [0.0, 1.0]\n',
            "calibration is for counts",
        ),
        (
            COUNTS + '[calibration]\nform = "linear"\nunit = "K"\ncoefficients = [0.0, 1.0]\ncovariance = [[1.0]]\n',
            "2 x 2",
        ),
        (
            COUNTS + '[calibration]\nform = "linear"\nunit = "K"\ncoefficients = [0.0, 1.0]\n'
            "covariance = [[1.0, 0.2], [0.3, 1.0]]\n",
            "not symmetric",
        ),
    ],
)
def test_contradictions_are_named_with_what_to_write(written: Write, text: str, words: str) -> None:
    """Units, forms and numbers that do not go together are told before the first frame is read."""
    path = written("flight.toml", text)
    with pytest.raises(InputError) as caught:
        read_flight_spec(path)
    assert str(path) in str(caught.value)
    assert words in str(caught.value)


def test_several_faults_are_told_at_once(written: Write) -> None:
    """One run, one list: not one error after the other."""
    text = '[values]\nkind = "radiance"\nscale = 0.0\n[poses]\ntime_zone = "nowhere"\n'
    with pytest.raises(InputError) as caught:
        read_flight_spec(written("flight.toml", text))
    assert str(caught.value).count(";") >= 2


def test_a_calibration_in_a_file_of_its_own_is_read_in(written: Write) -> None:
    """A camera's calibration is kept by serial number, beside the flights that used it."""
    written("serial 17.toml", '[calibration]\nform = "linear"\nunit = "C"\ncoefficients = [-250.0, 0.04]\n')
    spec = read_flight_spec(written("flight.toml", COUNTS + '[calibration]\nfile = "serial 17.toml"\n'))
    assert spec.calibration.coefficients == (-250.0, 0.04)
    with pytest.raises(FileError, match=r"lost\.toml"):
        read_flight_spec(written("flight.toml", COUNTS + '[calibration]\nfile = "lost.toml"\n'))


@pytest.mark.parametrize("text", ["pitch_um = 12.0\nfocal_mm = 13.0\n", "[camera]\npitch_um = 12.0\nfocal_mm = 13.0\n"])
def test_a_camera_file_with_or_without_its_heading(written: Write, text: str) -> None:
    """Both ways of writing camera.toml are understood."""
    assert read_camera(written("camera.toml", text)).focal_mm == 13.0


def test_a_brief_is_read_and_its_faults_are_plain(written: Write) -> None:
    """brief.toml goes through the same door."""
    good = 'title = "Roof"\n[site]\nname = "Hall"\n[[question]]\nname = "wet felt"\nlooking_for = "area"\n'
    assert read_brief(written("brief.toml", good)).question[0].name == "wet felt"
    with pytest.raises(InputError, match="question is missing"):
        read_brief(written("brief.toml", 'title = "Roof"\n[site]\nname = "Hall"\n'))


def test_missing_and_unreadable_files(tmp_path: Path) -> None:
    """A missing file, a folder in its place and bytes that are no text are file errors."""
    with pytest.raises(FileError, match=r"Write flight\.toml first"):
        read_flight_spec(tmp_path / "flight.toml")
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "latin.toml").write_bytes(b'title = "Hei\xdf"')
    for name in ("folder.toml", "latin.toml"):
        with pytest.raises(FileError, match="UTF-8"):
            read_toml(tmp_path / name)
