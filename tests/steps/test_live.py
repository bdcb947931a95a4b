"""Tables for a page hold the step's own model: the same temperatures, and the same first-order doubt."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.job.setting import Asked, setting_of
from groundglow.steps.find.departure import local_departure
from groundglow.steps.measure.asking.knowns import Said
from groundglow.steps.measure.asking.measured import region_value
from groundglow.steps.measure.asking.regions import Region
from groundglow.steps.measure.asking.scene import pixel_temperatures
from groundglow.steps.measure.asking.setting import Setting, received_by, scene_of
from groundglow.steps.measure.live import Live, Terms, live_table, signal_codes


@pytest.fixture(scope="module")
def frame(small_demo: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    job = tmp_path_factory.mktemp("live") / "job"
    shutil.copytree(small_demo[0], job)
    return sorted(job.glob("visits/*/flights/overview/frames/*.tif"))[1]


def worked_out(
    live: Live, signal: np.ndarray, emissivity: float, reflected: float, terms: Terms | None = None
) -> np.ndarray:
    """Surface temperature as a browser works it out from the tables, K."""
    of = terms or live.terms
    radiance = np.interp(signal, live.signal, live.radiance)
    mirrored = np.interp(reflected, live.reflected, of.mirrored)
    arrives = (radiance - of.path - (1 - emissivity) * mirrored) / emissivity
    return np.interp(arrives, of.arriving, live.surface, left=np.nan, right=np.nan)


def setting(frame: Path, **said: object) -> Setting:
    return setting_of(frame, Asked({"": Said(**said)}))


@pytest.mark.parametrize("emissivity", [0.6, 0.85, 0.98])
@pytest.mark.parametrize("reflected", [-40.0, 15.0])
def test_temperatures_from_the_tables_are_those_of_the_model(frame: Path, emissivity: float, reflected: float) -> None:
    given = setting(frame, emissivity=emissivity, reflected_c=reflected)
    live = live_table(given, given.made[""])
    codes = signal_codes(given)
    region = Region("all", "rectangle", (0.0, 0.0, 64.0, 64.0))
    rows, columns = region.pixels(given.shape)
    received = received_by(given, rows, columns)
    middle = np.full(received.radiance.shape, live.scene.distance.value)
    expected = pixel_temperatures(scene_of(given, region), received.radiance, middle)
    signal = codes.add + codes.scale * codes.codes[rows, columns]
    assert np.nanmax(np.abs(worked_out(live, signal, emissivity, reflected + 273.15) - expected)) < 0.02


def test_doubt_from_the_tables_is_that_of_a_reading(frame: Path) -> None:
    given = setting(frame, emissivity=0.9, reflected_c=-20.0, reflected_sd_k=6.0)
    live = live_table(given, given.made[""])
    region = Region("pixel", "point", (320.0, 256.0))
    received = received_by(given, *region.pixels(given.shape))
    scene = scene_of(given, region)
    kelvin = pixel_temperatures(scene, received.radiance, received.distance)
    expected = region_value(scene, received, kelvin, given.sensor).standard_uncertainty
    signal = np.array([float(given.table.temperature(received.radiance)[0])])

    def at(e: float = 0.9, r: float = 253.15, terms: Terms | None = None, by: float = 0.0) -> float:
        return float(worked_out(live, signal + by, e, r, terms)[0])

    slope = (at(by=0.5) - at(by=-0.5)) / 1.0
    spread = given.made[""].emissivity.standard_uncertainty
    parts = [slope * sd for sd in live.apparent.values()]
    parts += [0.5 * (at(e=0.9 + spread) - at(e=0.9 - spread)), 0.5 * (at(r=253.15 + 6.0) - at(r=253.15 - 6.0))]
    parts += [at(terms=terms) - at() for _, terms in live.moved.values()]
    parts += list(live.other.values())
    assert np.sqrt(sum(p * p for p in parts)) == pytest.approx(expected, rel=0.05)


def test_codes_keep_a_signal_to_a_millikelvin_and_say_where_there_is_none(frame: Path) -> None:
    given = setting(frame, emissivity=0.9)
    codes = signal_codes(given)
    kelvin = np.asarray(given.table.temperature(given.signal.value), dtype=float)
    told = codes.add + codes.scale * codes.codes
    known = codes.codes > 0
    assert np.abs(told - kelvin)[known].max() < 1e-3
    assert known.sum() == np.isfinite(kelvin).sum()


def test_counts_without_calibration_cannot_be_worked_out_again(tmp_path: Path) -> None:
    import tifffile

    tifffile.imwrite(tmp_path / "a.tif", np.arange(64, dtype=np.uint16).reshape(8, 8) + 100)
    given = setting_of(tmp_path / "a.tif", Asked({"": Said(emissivity=0.9)}, {"kind": "counts"}))
    assert signal_codes(given).unit == "counts"
    with pytest.raises(InputError, match="Counts without calibration"):
        live_table(given, given.made[""])


def test_departure_is_zero_on_even_ground_and_whole_on_a_spot() -> None:
    value = np.random.default_rng(3).normal(290.0, 0.05, (120, 160)).astype(np.float32)
    value += np.linspace(0.0, 6.0, 160, dtype=np.float32)
    value[60:64, 80:84] += 4.0
    value[0, 0] = np.nan
    found = local_departure(value)
    assert found[61:63, 81:83] == pytest.approx(4.0, abs=0.3)
    assert np.abs(np.nanmedian(found[20:100, 20:140])) < 0.05
    assert np.isnan(found[0, 0])
