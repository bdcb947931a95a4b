"""Trials: the compiled kernel against its NumPy twin, quantiles against a plain Monte Carlo."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from groundglow.model.band import ideal_band, lookup, nominal_band
from groundglow.model.distribution import normal, truncated_normal
from groundglow.model.montecarlo import monte_carlo
from groundglow.model.reading import CameraDoubt, Situation, Stated
from groundglow.model.reading import trials as module
from groundglow.model.reading.effects import effects
from groundglow.model.reading.trials import trial_interval, trial_radiances

BAND = nominal_band("7.5-13.5")
AROUND = Situation(
    Stated([0.3, 0.9], 0.03), Stated([255.0, 310.0], 6.0), Stated(288.15, 1.0), Stated(0.97, 0.05), Stated(150.0, 5.0)
).flat((2,))
CAMERA = CameraDoubt(noise=Stated(0.0, 0.1), calibration=Stated(0.0, 1.0, "rectangular"), tilt=Stated(0.0, 0.1))
SHOWN = np.array([283.0, 300.0])


def found(camera: CameraDoubt = CAMERA, around: Situation = AROUND):
    return effects(BAND, SHOWN, around, camera.flat((2,)))


def twin(count: int, seed: int) -> np.ndarray:
    """The module's equation for each trial, with the public pieces and no compiled kernel."""
    at, camera = found(), CAMERA.flat((2,))
    drawn = module._all_drawn(at, AROUND, count, seed)
    logs, kelvin = module._logs(at, AROUND, drawn), module._apparent(at, camera, count, seed)
    out = np.empty((2, count))
    for k in range(count):
        share, mirrored, air, moved = (
            drawn[name][:, k] for name in ("emissivity", "reflected_temperature", "air_temperature", "transmittance")
        )
        tau = [at.air.through(at.reference), at.air.through(mirrored), at.transmittance[2]]
        passing = [t * np.exp(logs[i, :, k]) for i, t in enumerate(tau)]
        shift = at.by_model * moved
        surface, own = np.clip(passing[0] + shift[0], 0, 1), 1 - np.clip(passing[2] + shift[2], 0, 1)
        back = np.clip(passing[1] + at.air.mirrored * shift[1], 0, 1)
        table = at.air.table
        rest = table.radiance(kelvin[:, k]) - own * table.radiance(air) - back * (1 - share) * table.radiance(mirrored)
        rest = rest - drawn["spectra"][:, k]
        out[:, k] = table.radiance(at.air.source_temperature(rest / share / (surface / tau[0])))
    return out


def test_the_kernel_is_its_numpy_twin() -> None:
    ours = trial_radiances(found(), AROUND, CAMERA.flat((2,)), count=64, seed=3)
    wanted = twin(64, 3)
    seen = np.isfinite(wanted)
    assert seen.mean() > 0.9
    np.testing.assert_allclose(ours[seen], wanted[seen], rtol=1e-6)


def test_without_doubt_every_trial_is_the_reading() -> None:
    sure = replace(AROUND, **{n: AROUND.of(n).arrays[0] for n in ("emissivity", "reflected_temperature")})
    sure = replace(sure, **{n: sure.of(n).arrays[0] for n in ("air_temperature", "relative_humidity", "distance")})
    sure = sure.flat((2,))
    at = found(CameraDoubt(), sure)
    still = replace(
        at, transmittance_sd=np.zeros(2), by_sky=np.zeros(2), spectra_sd=np.zeros(2), spectra_mean=np.zeros(2)
    )
    kelvin = at.air.table.temperature(trial_radiances(still, sure, CameraDoubt().flat((2,)), count=4, seed=1))
    np.testing.assert_allclose(kelvin, np.repeat(at.temperature[:, None], 4, axis=1), atol=0.02)


def test_intervals_are_those_of_a_plain_monte_carlo_without_air() -> None:
    """JCGM 101 by the band's exact table, input by input, on a metal in a room: nothing but the surface."""
    band = ideal_band(8e-6, 14e-6)
    table = lookup(band)
    eps, back, kelvin = (0.3, 0.03), (296.0, 2.0), (310.0, 1.0)

    def surface(shown: np.ndarray, share: np.ndarray, mirror: np.ndarray) -> np.ndarray:
        return np.asarray(table.temperature((table.radiance(shown) - (1 - share) * table.radiance(mirror)) / share))

    plain = monte_carlo(
        surface, [normal(*kelvin), truncated_normal(*eps, 0.0, 1.0), normal(*back)], seed=5, largest=400_000
    )
    scene = Situation(Stated(*eps), Stated(*back), 290.0, 0.5, 0.0).flat((1,))
    camera = CameraDoubt(calibration=Stated(0.0, kelvin[1])).flat((1,))
    at = effects(band, np.array([kelvin[0]]), scene, camera)
    at = replace(at, transmittance_sd=np.zeros(1), spectra_sd=np.zeros(1), spectra_mean=np.zeros(1))
    low, high = trial_interval(at, scene, camera, count=8192, seed=1)
    assert (low[0], high[0]) == pytest.approx(plain.symmetric, abs=0.03 * plain.standard_uncertainty)


def test_equal_seeds_give_equal_ends_and_other_seeds_nearly_so() -> None:
    ends = [trial_interval(found(), AROUND, CAMERA.flat((2,)), count=4096, seed=s) for s in (1, 1, 2)]
    np.testing.assert_array_equal(ends[0], ends[1])
    widths = ends[0][1] - ends[0][0]
    assert (np.abs(np.subtract(ends[0], ends[2])) < 0.03 * widths).all()


def test_more_coverage_is_wider() -> None:
    ends = [
        trial_interval(found(), AROUND, CAMERA.flat((2,)), count=4096, seed=1, coverage=c) for c in (0.5, 0.95, 0.99)
    ]
    assert (np.diff([high - low for low, high in ends], axis=0) > 0).all()
