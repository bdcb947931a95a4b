"""Measuring one frame: the model backwards gives back what the model forwards put in, with honest parts of doubt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from groundglow.errors import FrameError, InputError
from groundglow.model.air import spectral_transmittance
from groundglow.model.doubt import combined, difference, select
from groundglow.model.planck import spectral_radiance
from groundglow.model.pose import rotation_from_yaw_pitch_roll
from groundglow.model.profile import profile
from groundglow.model.reading import Situation, camera_doubt, reading_with_interval, sky_factor
from groundglow.model.sky import sky_hemisphere_radiance, sky_radiance, spectral_sky_radiance
from groundglow.model.through_air import at_sensor_radiance_through_air
from groundglow.records.brief import Surface
from groundglow.records.field import Reason
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Frame, Pose, Stamp, ValueKind
from groundglow.records.log import FlightLog, LogEntry, Origin
from groundglow.records.tie import Level
from groundglow.records.visit import Conditions
from groundglow.steps.measure import FrameInputs, measure_frame, resolve_surfaces
from groundglow.steps.measure.frame import band_and_table
from groundglow.steps.measure.method import budget_rows
from groundglow.steps.measure.surfaces import surface_shares

SHAPE = (96, 120)
FOCAL = 1083.0
HEIGHT = 60.0
AIR, HUMIDITY = 288.2, 0.5
ZERO = 273.15


def spec_of(kind: str, **more: object) -> FlightSpec:
    values = {"counts": {"kind": "counts"}, "radiance": {"kind": "radiance", "unit": "W m-2 sr-1"}}[kind]
    camera = {"netd_mk": 50.0, "drift_k": 0.5}
    return FlightSpec.parse({"values": values, "camera": camera, "poses": {"source": "none"}, **more}, "flight.toml")


def pose() -> Pose:
    down = rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)
    return Pose(np.array([0.0, 0.0, HEIGHT]), down, np.array([0.5, 0.5, 1.0]), np.full(3, 0.01))


def inputs_of(spec: FlightSpec, surfaces: object, median: float, *, with_pose: bool = True) -> FrameInputs:
    entry = LogEntry("f.npy", "f.npy", 0.0, pose() if with_pose else None, "", {"median": median})
    log = FlightLog("v/f", SHAPE, spec.values.kind, FOCAL, Origin(10.0, 50.0, 0.0), 1.0, 0.0, 1.0, (entry,), ())
    known = {"air_temperature": AIR, "relative_humidity": HUMIDITY, "pressure": 101325.0, "cloud_fraction": 0.0}
    conditions = Conditions(
        np.zeros(1), {k: np.array([v]) for k, v in known.items()}, {k: np.array([0.02 * v]) for k, v in known.items()}
    )
    return FrameInputs(log, spec, entry, Level("f.npy", 0.0, 0.1, tied=True), None, 0.0, conditions, surfaces)  # type: ignore[arg-type]


def seen(temperature: np.ndarray, emissivity: float) -> np.ndarray:
    """What a camera 60 m up receives, by the model forwards."""
    band, table = band_and_table(7.5, 13.5)
    weather = {"air_temperature": AIR, "relative_humidity": HUMIDITY}
    sky = sky_hemisphere_radiance(band, **weather, cloud_fraction=0.0)
    sky = sky * sky_factor(band, Situation(emissivity, float(table.temperature(sky)), AIR, HUMIDITY, HEIGHT))
    return at_sensor_radiance_through_air(
        table, temperature, emissivity=emissivity, reflected_radiance=sky, distance=HEIGHT, **weather
    )


def seen_by_wavelength(temperature: np.ndarray, emissivity: float, *, mirror: bool) -> np.ndarray:
    """By a sum over wavelengths: a grey surface that mirrors the zenith, or the layered sky at its mean slant."""
    band, _ = band_and_table(7.5, 13.5)
    grid, tau = spectral_transmittance(HEIGHT, air_temperature=AIR, relative_humidity=HUMIDITY)
    sky = spectral_sky_radiance(profile(AIR, HUMIDITY), np.radians([0.0 if mirror else 53.0]))[0][0]
    weight = np.interp(grid, band.wavelength, band.response, left=0, right=0) * np.gradient(grid)
    weather = {"air_temperature": AIR, "relative_humidity": HUMIDITY}
    mean = sky_radiance(band, 0.0, **weather) if mirror else sky_hemisphere_radiance(band, **weather)
    sky = sky * float(mean) / (weight @ sky)
    bodies = spectral_radiance(grid, temperature[..., None])
    left = emissivity * bodies + (1 - emissivity) * sky
    return np.asarray((tau * left + (1 - tau) * spectral_radiance(grid, AIR)) @ weight)


def measured(temperature: np.ndarray):
    surfaces = resolve_surfaces([], {})
    radiance = seen(temperature, surfaces[-1].emissivity).astype(np.float32)
    frame = Frame("f.npy", radiance, ValueKind.RADIANCE, Stamp(), {})
    return measure_frame(frame, inputs_of(spec_of("radiance"), surfaces, float(np.median(radiance))))


def test_the_model_backwards_gives_the_temperature_that_the_model_forwards_was_given() -> None:
    truth = np.linspace(270.0, 340.0, SHAPE[0] * SHAPE[1]).reshape(SHAPE)
    field = measured(truth)
    assert field.unit == "K"
    assert field.quantity == "surface_temperature"
    # Within 60 to 61 m of slant path and the table's mK.
    np.testing.assert_allclose(field.value, truth, atol=0.03)


@pytest.mark.parametrize("material", ["roofing, bitumen felt", "aluminium, roofing, weathered"])
def test_a_reflected_sky_is_not_taken_as_black_on_its_way_through_air(material: str) -> None:
    """Against the sum over wavelengths: 0.1 K for a dull roof, 0.5 K for a dull metal that mirrors mostly sky."""
    truth = np.repeat(np.linspace(275.0, 320.0, SHAPE[0])[:, None], SHAPE[1], axis=1)
    surfaces = resolve_surfaces([Surface(zone="*", material=material)], {})
    radiance = seen_by_wavelength(truth, surfaces[-1].emissivity, mirror=surfaces[-1].mirror_like).astype(np.float32)
    frame = Frame("f.npy", radiance, ValueKind.RADIANCE, Stamp(), {})
    given = inputs_of(spec_of("radiance"), surfaces, float(np.median(radiance)))
    field = measure_frame(frame, given)
    error = float(np.abs(field.value - truth).max())
    assert error < 0.1 / surfaces[-1].emissivity ** 2
    assert error < 0.5 * float(np.median(np.hypot(*(field.doubt.flight[n] for n in ("response, tilt", "sky")))))


def test_a_response_that_is_only_nominal_is_a_source_of_doubt_as_the_model_says() -> None:
    """Of a warm roof, by reading it with bands whose long edge is moved by its standard uncertainty."""
    truth = np.full(SHAPE, 330.0)
    field = measured(truth)
    band, table = band_and_table(7.5, 13.5)
    surface = resolve_surfaces([], {})[-1]
    sky = float(table.temperature(sky_hemisphere_radiance(band, air_temperature=AIR, relative_humidity=HUMIDITY)))
    shown = float(table.temperature(seen(truth[:1, :1], surface.emissivity)[0, 0]))
    scene = Situation(surface.emissivity, sky, AIR, HUMIDITY, HEIGHT)
    known = reading_with_interval(band, shown, scene, camera_doubt(band, noise=0.05, calibration=1.0)).doubt.flight
    for name in ("response, short edge", "response, long edge", "response, tilt"):
        assert abs(float(field.doubt.flight[name][5, 5])) == pytest.approx(abs(float(known[name])), rel=0.05)
    assert abs(float(field.doubt.flight["response, tilt"][5, 5])) > 0.01


def test_two_edges_are_no_response() -> None:
    assert band_and_table(8.0, 13.0)[0].nominal


def test_what_the_flight_shares_cancels_in_a_rise_but_not_in_a_temperature() -> None:
    truth = np.full(SHAPE, 300.0)
    truth[40:50, 40:50] = 310.0
    field = measured(truth)
    hot, cool = select(field.doubt, (45, 45)), select(field.doubt, (10, 10))
    assert float(combined(hot)) > 2.0
    assert float(combined(difference(hot, cool))) < 0.5 * float(combined(hot))


def test_the_budget_names_every_source_and_its_shares_add_up() -> None:
    rows = budget_rows(measured(np.full(SHAPE, 300.0)))
    names = [r[0] for r in rows]
    expected = {
        "noise",
        "level",
        "calibration",
        "drift",
        "sky",
        "cloud",
        "air temperature",
        "humidity",
        "transmittance",
    }
    assert expected <= set(names)
    shares = [float(r[2].split()[0]) for r in rows[:-1]]
    assert sum(shares) == pytest.approx(100.0, abs=len(rows))


def test_counts_without_a_calibration_stay_counts() -> None:
    counts = np.random.default_rng(1).integers(5000, 5100, SHAPE).astype(np.uint16)
    frame = Frame("f.npy", counts, ValueKind.COUNTS, Stamp(), {})
    field = measure_frame(frame, inputs_of(spec_of("counts"), resolve_surfaces([], {}), 5050.0))
    assert (field.unit, field.quantity, field.relative) == ("counts", "levelled_counts", True)
    assert set(field.doubt.frame) == {"level"}


def test_level_and_pattern_are_taken_off_before_anything_else() -> None:
    counts = np.full(SHAPE, 5000, np.uint16)
    inputs = inputs_of(spec_of("counts"), resolve_surfaces([], {}), 5000.0)
    pattern = np.zeros(SHAPE, np.float32)
    pattern[:, 60:] = 10.0
    inputs = replace(inputs, level=Level("f.npy", 3.0, 0.1, tied=True), pattern=pattern)
    field = measure_frame(Frame("f.npy", counts, ValueKind.COUNTS, Stamp(), {}), inputs)
    assert (field.value[0, 0], field.value[0, 100]) == (4997.0, 4987.0)


def test_saturation_is_judged_on_what_was_recorded_not_on_what_was_corrected() -> None:
    counts = np.full(SHAPE, 5000, np.uint16)
    counts[3, 4] = 65535
    inputs = replace(
        inputs_of(spec_of("counts"), resolve_surfaces([], {}), 5000.0), level=Level("f.npy", 50.0, 0.1, tied=True)
    )
    field = measure_frame(Frame("f.npy", counts, ValueKind.COUNTS, Stamp(), {}), inputs)
    assert field.mask[3, 4] == Reason.SATURATED
    assert (field.mask != 0).sum() == 1


def test_less_radiance_than_air_and_reflection_give_has_no_temperature_and_says_why() -> None:
    radiance = np.full(SHAPE, 40.0, np.float32)
    radiance[0, 0] = 0.5
    frame = Frame("f.npy", radiance, ValueKind.RADIANCE, Stamp(), {})
    field = measure_frame(frame, inputs_of(spec_of("radiance"), resolve_surfaces([], {}), 40.0))
    assert np.isnan(field.value[0, 0])
    assert field.mask[0, 0] in (Reason.NO_SOLUTION, Reason.OUT_OF_RANGE)


def test_a_frame_of_another_shape_is_set_aside() -> None:
    frame = Frame("f.npy", np.zeros((5, 5), np.uint16), ValueKind.COUNTS, Stamp(), {})
    with pytest.raises(FrameError, match="shape"):
        measure_frame(frame, inputs_of(spec_of("counts"), resolve_surfaces([], {}), 0.0))


def test_edges_of_zones_are_as_soft_as_the_position_is_uncertain() -> None:
    zones = {"west": shapely.box(-50, -50, 0, 50)}
    surfaces = resolve_surfaces([Surface(zone="west", material="water")], zones)
    inputs = inputs_of(spec_of("radiance"), surfaces, 40.0)
    shares = surface_shares(inputs.log, inputs.entry.pose, surfaces)
    np.testing.assert_allclose(shares.sum(axis=0), 1.0, atol=1e-5)
    middle = shares[0, SHAPE[0] // 2]
    assert middle[0] > 0.8
    assert middle[-1] < 0.2
    assert middle[SHAPE[1] // 2] == pytest.approx(0.5, abs=0.1)


def test_a_surface_of_an_unknown_zone_is_refused_with_the_zones_there_are() -> None:
    with pytest.raises(InputError, match="zones there: roof"):
        resolve_surfaces([Surface(zone="rooof", material="water")], {"roof": shapely.box(0, 0, 1, 1)})
