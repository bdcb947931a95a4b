"""``read``, ``budget`` and ``lesson`` as a person meets them: frames in a flight or alone, plain errors, 80 columns."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
from typer.testing import CliRunner

from groundglow.cli.main import app
from groundglow.model.band import lookup, nominal_band
from groundglow.model.through_air import at_sensor_radiance_through_air

TABLE = lookup(nominal_band("7.5-13.5"))
FAR = 30.0


def call(*arguments: str):
    return CliRunner().invoke(app, list(arguments))


def plain(*arguments: str):
    done = call(*arguments, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def apparent_c(surface_c: float | np.ndarray, emissivity: float, air_c: float, reflected_c: float) -> np.ndarray:
    seen = at_sensor_radiance_through_air(
        TABLE, np.asarray(surface_c) + 273.15, emissivity=emissivity,
        reflected_radiance=float(TABLE.radiance(reflected_c + 273.15)), distance=FAR,
        air_temperature=air_c + 273.15, relative_humidity=0.5,
    )  # fmt: skip
    return np.asarray(TABLE.temperature(seen)) - 273.15


@pytest.fixture
def alone(tmp_path: Path) -> Path:
    """A frame by itself: tenths of a degree above -100 C, one spot of 45 C on ground of 20 C."""
    shown = apparent_c(np.full((60, 80), 20.0), 0.95, 10.0, -15.0)
    shown[20:40, 30:55] = apparent_c(45.0, 0.95, 10.0, -15.0)
    stored = np.rint((shown + 100.0) * 100.0).astype(np.uint16)
    stored[0, 0] = 65535
    path = tmp_path / "alone.tif"
    tifffile.imwrite(path, stored)
    return path


NUMBERS = ("--values", "apparent_temperature", "--scale", "0.01", "--offset", "-100", "--unit", "C")
SCENE = ("--emissivity", "0.95", "--air", "10", "--humidity", "50", "--reflected", "-15", "--distance", str(FAR))
HOT, COOL = "hot=32,22,52,38", "cool=5,5,25,55"


def test_a_frame_alone_is_read_as_its_options_say(alone: Path) -> None:
    found = plain("read", str(alone), *NUMBERS, *SCENE, "--region", HOT, "--region", COOL, "--rise", "hot:cool")
    hot, cool = found["regions"]
    assert hot["mean_c"] == pytest.approx(45.0, abs=0.05)
    assert cool["reading"]["value_c"] == pytest.approx(20.0, abs=0.05)
    assert hot["reading"]["low_c"] < 45.0 < hot["reading"]["high_c"]
    assert found["rises"][0]["rise_k"]["value"] == pytest.approx(25.0, abs=0.05)
    origins = {k["name"]: k["origin"] for k in found["inputs"]}
    assert origins["air temperature"] == "given"
    assert origins["pressure"] == "assumed"


def test_what_nobody_said_widens_the_interval_and_is_listed(alone: Path) -> None:
    known, unknown = (
        plain("read", str(alone), *NUMBERS, *scene, "--region", HOT)["regions"][0]["reading"] for scene in (SCENE, ())
    )
    assert unknown["high_c"] - unknown["low_c"] > known["high_c"] - known["low_c"]
    listed = call("read", str(alone), *NUMBERS, "--region", HOT).output
    for name in ("emissivity", "air temperature", "humidity", "distance", "noise", "drift"):
        assert name in listed
    assert "assumed" in listed


def test_a_saturated_pixel_has_no_temperature_and_says_why(alone: Path) -> None:
    found = plain("read", str(alone), *NUMBERS, *SCENE, "--point", "0,0")["regions"][0]
    assert found["reading"] is None
    assert found["mean_c"] is None
    assert "saturated" in found["reason"]
    assert "none" in call("read", str(alone), *NUMBERS, *SCENE, "--point", "0,0").output


def test_counts_have_no_temperature_and_no_interval(alone: Path) -> None:
    found = plain("read", str(alone), "--values", "counts", "--region", HOT)["regions"][0]
    assert found["reading"] is None
    assert found["mean_counts"] > 0
    assert "calibration" in found["reason"]


def test_a_line_is_written_as_csv_with_an_interval_a_pixel(alone: Path, tmp_path: Path) -> None:
    target = tmp_path / "line.csv"
    done = call("read", str(alone), *NUMBERS, *SCENE, "--profile", "across=20,30:65,30", "--csv", str(target))
    assert done.exit_code == 0, done.output
    with target.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 46
    inside = [r for r in rows if 30 <= int(r["column"]) < 55]
    assert all(abs(float(r["value_c"]) - 45.0) < 0.1 for r in inside)
    assert all(float(r["low_c"]) < float(r["value_c"]) < float(r["high_c"]) for r in rows)


def test_emissivity_and_size_can_be_said_of_one_label(alone: Path) -> None:
    found = plain(
        "read", str(alone), *NUMBERS, *SCENE, "--emissivity", "hot=0.80", "--region", HOT, "--region", COOL,
        "--camera", "demo-640", "--target-size", "hot=0.45", "--target-size", "cool=large",
    )["regions"]  # fmt: skip
    hot, cool = found
    assert hot["mean_c"] > 47.0
    assert cool["mean_c"] == pytest.approx(20.0, abs=0.05)
    assert hot["surface"] == "hot"
    assert hot["corrected"]["pixels_across"] == pytest.approx(0.45 / FAR * 13e-3 / 12e-6)
    assert cool["corrected"] is None
    assert cool["support"] == "supported"


@pytest.fixture
def flight(tmp_path: Path) -> Path:
    """A job with one flight whose frame lies under flight.toml and conditions.csv, with a pose 30 m up."""
    folder = tmp_path / "job" / "visits" / "2026-05-01" / "flights" / "one"
    (folder / "frames").mkdir(parents=True)
    noise = 0.05 * np.random.default_rng(1).standard_normal((60, 80))
    shown = apparent_c(np.full((60, 80), 25.0), 0.9, 8.0, -20.0) + noise
    np.save(folder / "frames" / "f1.npy", shown.astype(np.float32))
    (folder / "flight.toml").write_text(
        '[values]\nkind = "apparent_temperature"\nunit = "C"\n'
        "[calibration]\nstandard_uncertainty_k = 0.7\n"
        "[camera]\npitch_um = 12.0\nfocal_mm = 13.0\nnetd_mk = 50.0\ndrift_k = 0.3\npattern_k = 0.1\n"
        '[poses]\nfile = "poses.csv"\nheight_reference = "ground"\npitch_zero = "horizon"\nheight_sd_m = 1.0\n'
    )
    (folder / "poses.csv").write_text(
        "frame,time_utc,lon_deg,lat_deg,height_m,yaw_deg,pitch_deg,roll_deg\n"
        f"f1.npy,2026-05-01T10:00:00Z,20.0,47.0,{FAR},0,-90,0\n"
    )
    (folder.parents[1] / "conditions.csv").write_text(
        "time_utc,air_temperature_c,relative_humidity_pct,cloud_fraction,air_temperature_c_sd\n"
        "2026-05-01T10:00:00Z,8,50,0,0.4\n"
    )
    (tmp_path / "job" / "brief.toml").write_text(
        'title = "t"\n[site]\nname = "s"\nlon_deg = 20.0\nlat_deg = 47.0\n'
        '[[question]]\nname = "q"\naccuracy_k = 4.0\n[[surface]]\nmaterial = "concrete"\n'
    )
    return folder / "frames" / "f1.npy"


def test_a_frame_in_a_flight_is_read_by_the_flights_files(flight: Path) -> None:
    found = plain("read", str(flight), "--region", "a=10,10,40,40")
    known = {k["name"]: k for k in found["inputs"]}
    assert known["air temperature"]["value"] == pytest.approx(281.15)
    assert known["air temperature"]["standard_uncertainty"] == 0.4
    assert known["air temperature"]["origin"] == "conditions.csv"
    assert known["distance"]["origin"] == "poses"
    assert known["distance"]["value"] == pytest.approx(FAR, abs=0.1)
    assert known["emissivity: concrete"]["origin"] == "brief.toml"
    assert known["noise"]["origin"] == "camera"
    region = found["regions"][0]
    assert region["support"] in ("supported", "not supported")
    assert "4 K" in region["reason"]
    assert any("as recorded" in note for note in found["notes"])


def test_places_of_different_make_are_named_with_it(flight: Path) -> None:
    places = ("--point", "a=10,10", "--point", "b=20,20", "--point", "c=30,30")
    found = plain("read", str(flight), *places, "--material", "b=grass")
    assert [k["name"] for k in found["inputs"]][:2] == ["emissivity a, c: concrete", "emissivity b: grass"]


def test_options_win_over_the_flights_files(flight: Path) -> None:
    said = ("--emissivity", "0.9", "--reflected", "-20", "--distance", "30")
    found = plain("read", str(flight), "--region", "a=10,10,40,40", *said)
    assert found["regions"][0]["mean_c"] == pytest.approx(25.0, abs=0.05)
    known = {k["name"]: k["origin"] for k in found["inputs"]}
    assert (known["distance"], known["emissivity: surface"]) == ("given", "given")


def test_what_numbers_mean_is_not_said_twice(flight: Path) -> None:
    done = call("read", str(flight), "--point", "5,5", *NUMBERS)
    assert done.exit_code == 2
    assert "flight.toml" in done.output


def test_budget_of_a_typed_reading_explains_all_of_its_doubt(tmp_path: Path) -> None:
    chart = tmp_path / "b.png"
    found = plain("budget", "--apparent", "35", *SCENE, "--chart", str(chart))
    assert sum(line["share"] for line in found["lines"]) == pytest.approx(1.0, abs=1e-6)
    assert found["dominant"] == "calibration"
    assert found["halving"]["then_k"] <= 0.5 * found["halving"]["now_k"]
    assert chart.read_bytes()[1:4] == b"PNG"


def test_budget_of_a_pixel_is_that_of_its_apparent_temperature(alone: Path) -> None:
    of_frame = plain("budget", str(alone), "--point", "40,30", *NUMBERS, *SCENE)
    typed = plain("budget", "--apparent", f"{of_frame['apparent_c']:.6f}", *SCENE)
    assert of_frame["surface_c"] == pytest.approx(typed["surface_c"], abs=1e-3)
    assert of_frame["standard_uncertainty_k"] == pytest.approx(typed["standard_uncertainty_k"], rel=1e-3)


def test_read_and_budget_agree_on_one_pixel(alone: Path) -> None:
    pixel = plain("read", str(alone), "--point", "40,30", *NUMBERS, *SCENE)["regions"][0]["reading"]
    taken_apart = plain("budget", str(alone), "--point", "40,30", *NUMBERS, *SCENE)
    assert pixel["value_c"] == pytest.approx(taken_apart["surface_c"], abs=0.01)
    assert pixel["standard_uncertainty_k"] == pytest.approx(taken_apart["standard_uncertainty_k"], rel=0.01)


def test_budget_says_in_words_what_dominates_what_helps_and_where_first_order_fails() -> None:
    text = call("budget", "--apparent", "35", *SCENE).output
    assert text.startswith("Why is my temperature wrong?")
    for words in ("Most of the doubt", "To halve the doubt", "they agree", "nothing corrected at all"):
        assert words in " ".join(text.split())
    metal = call("budget", "--apparent", "-5", "--material", "aluminium, commercial sheet", "--air", "5").output
    assert "WARNING" in metal


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("read", "nothing.tif", *NUMBERS, "--point", "1,1"), "no such file"),
        (("read", "nothing.tif", "--point", "1,1"), "no such file"),
        (("budget", "--apparent", "-400", "--emissivity", "0.9"), "from -123 to 1227 C"),
        (("read", "ALONE", "--point", "1,1"), "--values"),
        (("read", "ALONE", *NUMBERS), "Nothing was asked for"),
        (("read", "ALONE", *NUMBERS, "--point", "1"), "COLUMN,ROW"),
        (("read", "ALONE", *NUMBERS, "--point", "900,1"), "outside the frame"),
        (("read", "ALONE", *NUMBERS, "--point", "1,1", "--emissivity", "95"), "percent"),
        (("read", "ALONE", *NUMBERS, "--point", "1,1", "--rise", "p1"), "A:B"),
        (("read", "ALONE", *NUMBERS, "--point", "1,1", "--target-size", "x=1"), "no region 'x'"),
        (("read", "ALONE", *NUMBERS, "--point", "1,1", "--target-size", "0.1"), "camera"),
        (("read", "ALONE", *NUMBERS, "--point", "1,1", "--csv", "x.csv"), "--profile"),
        (("read", "ALONE", "--values", "furlongs", "--point", "1,1"), "values.kind"),
        (("budget",), "--apparent"),
        (("budget", "--apparent", "20", "--air", "288"), "air_temperature"),
        (("budget", "ALONE", "--apparent", "20"), "--apparent"),
        (("budget", "ALONE", *NUMBERS), "one --point"),
        (("budget", "ALONE", *NUMBERS, "--point", "0,0"), "saturated"),
        (("budget", "ALONE", "--values", "counts", "--point", "5,5"), "calibration"),
        (("budget", "--apparent", "20", "--camera", "demo-64"), "demo-640"),
        (("lesson", "two-moons"), "two-skies"),
        (("lesson", "two-skies", "--with", "air=warm"), "no number"),
    ],
)
def test_a_fault_ends_with_code_2_and_one_plain_line(alone: Path, arguments: tuple[str, ...], said: str) -> None:
    done = call(*(str(alone) if a == "ALONE" else a for a in arguments))
    assert done.exit_code == 2, done.output
    assert said in done.output
    assert "Traceback" not in done.output
    assert len(done.output.strip().splitlines()) == 1


def test_an_impossible_reading_is_finished_but_unmet() -> None:
    done = call("budget", "--apparent", "-60", "--emissivity", "0.1", "--reflected", "20", "--air", "20")
    assert done.exit_code == 1
    assert "no surface temperature" in done.output


def test_every_output_fits_80_columns(alone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    calls = (
        ("read", "--help"), ("budget", "--help"), ("lesson", "--help"), ("lesson",),
        *(("lesson", n) for n in ("two-emissivities", "two-skies", "two-distances", "two-sizes")),
        ("budget", "--apparent", "35", *SCENE),
        ("read", str(alone), *NUMBERS, *SCENE, "--region", HOT, "--disc", "a-long-label=10,10,4", "--point", "0,0",
         "--rise", "hot:a-long-label", "--camera", "demo-640", "--target-size", "hot=0.4"),
    )  # fmt: skip
    for arguments in calls:
        done = call(*arguments)
        assert done.exit_code == 0, done.output
        assert max(len(line.rstrip()) for line in done.output.splitlines()) <= 80


def test_lessons_are_listed_and_worked_out_as_json() -> None:
    listed = plain("lesson")
    assert set(listed) == {"two-emissivities", "two-skies", "two-distances", "two-sizes"}
    sheet = plain("lesson", "two-sizes", "--with", "rise=10")
    assert sheet["values"]["rise"] == 10.0
    assert len(sheet["rows"]) == 2
