"""The catalogue of the demo is complete, sourced and possible; a kit file of one's own is checked in plain words."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundglow.errors import FileError, InputError
from groundglow.kit import camera_entry
from groundglow.kit.fleet import catalogue, check_kit, fleet_with
from groundglow.kit.schema import FIGURES
from groundglow.records.kit import RECORDING_KINDS

SOUND = """
[lens.mine]
name = "25 mm"
source = "data sheet, 2026"
focal_mm = 25.0
f_number = 1.0
transmission = 0.9
price = 900
currency = "EUR"

[camera.mine]
name = "Mine"
source = "data sheet, 2026"
detector = "array-640"
lenses = ["mine", "l640-13"]
records = ["raw frames"]
mount = "work gimbal"
netd_mk = { value = 45, unit = "mK", source = "own test" }
frame_rates_hz = [9, 30]
pattern_k = 0.1
drift_k = 0.3
mass_g = 400

[[owned]]
camera = "mine"
lens = "mine"
aircraft = "demo-quad-work"
"""


def kit_file(folder: Path, text: str) -> Path:
    path = folder / "kit.toml"
    path.write_text(text, encoding="utf-8")
    return path


def faults(folder: Path, text: str) -> str:
    return "\n".join(check_kit(kit_file(folder, text))[1])


def test_the_catalogue_has_three_arrays_seven_cameras_five_aircraft() -> None:
    fleet = catalogue()
    lenses = {
        array: {x.id for c in fleet.cameras.values() if c.detector.id == array for x in c.lenses}
        for array in fleet.detectors
    }
    assert (len(fleet.detectors), len(fleet.cameras), len(fleet.aircraft)) == (3, 7, 5)
    assert all(1 <= len(found) <= 4 for found in lenses.values())


def test_every_figure_of_the_catalogue_has_a_source_and_every_part_is_used() -> None:
    fleet = catalogue()
    items = [*fleet.detectors.values(), *fleet.lenses.values(), *fleet.cameras.values(), *fleet.aircraft.values()]
    assert all(figure.source == "invented for the demo" for item in items for figure in item.figures.values())
    assert {x.id for c in fleet.cameras.values() for x in c.lenses} == set(fleet.lenses)
    assert all(any(c.mount in a.mounts for a in fleet.aircraft.values()) for c in fleet.cameras.values())


def test_the_demo_camera_has_the_same_figures_in_both_tables() -> None:
    """One camera, two files: what flights are read with, and what is chosen from."""
    kit, entry = catalogue().cameras["demo-640"], camera_entry("demo-640").figures
    lens = kit.lenses[0]
    ours = {
        "width_px": kit.detector.columns, "height_px": kit.detector.rows, "pitch_um": kit.detector.pitch * 1e6,
        "focal_mm": lens.focal_length * 1e3, "f_number": lens.f_number, "netd_mk": kit.noise * 1e3,
        "time_constant_ms": kit.detector.time_constant * 1e3, "pattern_k": kit.pattern, "drift_k": kit.drift,
        "accuracy_k": kit.accuracy, "frame_rate_hz": max(kit.frame_rates), "frame_rate_export_hz": min(kit.frame_rates),
    }  # fmt: skip
    for name, value in ours.items():
        assert value == pytest.approx(entry[name].value), name


def test_endurance_falls_with_load_and_with_wind() -> None:
    for aircraft in catalogue().aircraft.values():
        times, shares = [t for _, t in aircraft.endurance], [s for _, s in aircraft.in_wind]
        assert times == sorted(times, reverse=True), aircraft.id
        assert shares == sorted(shares, reverse=True), aircraft.id


def test_a_sound_kit_adds_to_the_catalogue(tmp_path: Path) -> None:
    path = kit_file(tmp_path, SOUND)
    assert check_kit(path)[1] == ()
    fleet = fleet_with(path)
    assert len(fleet.cameras) == len(catalogue().cameras) + 1
    assert fleet.cameras["mine"].noise == pytest.approx(0.045)
    assert fleet.owned[0].id == "mine + mine + demo-quad-work"
    assert fleet.owned[0].price is None  # the camera's is not known
    assert fleet.lenses["mine"].offer.price == 900


@pytest.mark.parametrize(
    ("change", "to", "said"),
    [
        ("focal_mm = 25.0", "focal_mm = -25.0", "lens.mine.focal_mm: is -25 mm; allowed above 0 to 1000 mm"),
        ('unit = "mK", ', "", "camera.mine.netd_mk: unit is missing: write unit = 'mK'"),
        ('unit = "mK"', 'unit = "K"', "camera.mine.netd_mk: unit is 'K'; allowed 'mK'"),
        ('"work gimbal"', '"magnet"', "camera.mine.mount: no aircraft carries a mount 'magnet'; known are"),
        ('"array-640"', '"aray-640"', "camera.mine.detector: 'aray-640' is not known; did you mean 'array-640'?"),
        ('"raw frames"', '"raw film"', "camera.mine.records: 'raw film' is not known; did you mean 'raw frames'?"),
        ("f_number = 1.0\n", "", "lens.mine: f_number is missing: add it"),
        ('name = "25 mm"\nsource = "data sheet, 2026"', 'name = "25 mm"', "lens.mine.focal_mm: source is missing"),
        ("transmission = 0.9", "transmission = 90", "transmission: is 90; allowed 0.3 to 1 (a share"),
        ("[9, 30]", "[9, 0]", "frame_rates_hz: is 0 Hz; allowed above 0"),
        ("mass_g = 400", 'mass_g = "400"', "mass_g: found '400'; a number is wanted"),
        ("mass_g = 400", "mass_g = 400\nweigth_g = 3", "'weigth_g' is not known"),
        ('lens = "mine"\n', 'lens = "l960-38"\n', "owned[1]: lens 'l960-38' does not fit camera 'mine'; it takes"),
        ("[lens.mine]", "[lens.l640-13]", "l640-13: is in the catalogue already: choose another id"),
    ],
)  # fmt: skip
def test_a_fault_of_a_kit_is_said_in_plain_words(tmp_path: Path, change: str, to: str, said: str) -> None:
    assert change in SOUND
    assert said in faults(tmp_path, SOUND.replace(change, to))


@pytest.mark.parametrize(
    ("change", "to"),
    [("focal_mm = 25.0", "focal_mm = -25.0"), ('"work gimbal"', '"magnet"'), ('unit = "mK", ', "")],
)
def test_one_fault_is_told_once_and_not_again_by_what_hangs_on_it(tmp_path: Path, change: str, to: str) -> None:
    assert len(faults(tmp_path, SOUND.replace(change, to)).splitlines()) == 1


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    bad = SOUND.replace("focal_mm = 25.0", "focal_mm = 0").replace('"work gimbal"', '"magnet"')
    assert {"focal_mm", "mount"} <= {
        line.split(": ")[1].rsplit(".", 1)[-1] for line in faults(tmp_path, bad).splitlines()
    }


def test_contradictions_of_an_aircraft_are_found(tmp_path: Path) -> None:
    text = """
[aircraft.mine]
name = "Mine"
source = "manual"
mounts = ["magnet"]
rating = "fair"
endurance_kg_min = [[1.0, 20], [0.0, 30]]
speed_least_m_s = 20
speed_most_m_s = 10
wind_limit_m_s = 10
ceiling_m = 4000
coldest_c = 10
warmest_c = 5
reserve = 0.2
battery = "none-such"
"""
    said = faults(tmp_path, text)
    for part in (
        "do not rise: sort",
        "speed_least_m_s 20 is not below",
        "coldest_c 10 is not below",
        "IP code",
        "'none-such'",
    ):
        assert part in said


def test_a_faulty_kit_is_refused_where_it_is_used(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"kit\.toml: lens\.mine\.focal_mm"):
        fleet_with(kit_file(tmp_path, SOUND.replace("focal_mm = 25.0", "focal_mm = -1")))
    with pytest.raises(FileError, match="is not TOML"):
        fleet_with(kit_file(tmp_path, "[lens.mine"))
    with pytest.raises(FileError, match="cannot be read"):
        fleet_with(tmp_path / "none.toml")


def test_every_rule_has_a_range_and_a_reason() -> None:
    for kind, rules in FIGURES.items():
        for name, rule in rules.items():
            assert rule.low < rule.high, (kind, name)
            assert rule.why, (kind, name)


def test_every_recording_kind_of_the_catalogue_is_known() -> None:
    assert all(kind in RECORDING_KINDS for c in catalogue().cameras.values() for kind in c.records)
