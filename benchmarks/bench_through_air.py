"""Surface temperature through air that follows the source, against one transmittance for all sources.

The floor is the single pass: the air's path to each pixel's distance, then the fused measurement equation with that
one transmittance. Printed are ratios of processor times of a 32-bit frame measured in turns, best of all rounds, with
the error that each leaves against the sum over wavelengths. One thread.

    python benchmarks/bench_through_air.py [--rounds 12]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

import numpy as np

from groundglow.model.air import air_path, spectral_transmittance
from groundglow.model.band import lookup, nominal_band
from groundglow.model.planck import spectral_radiance
from groundglow.model.sensing import Surroundings, surface_temperature_and_sensitivities
from groundglow.model.through_air import surface_temperature_through_air

BAND = nominal_band("7.5-13.5")
TABLE = lookup(BAND)
SHAPE = (512, 640)
AIR = {"air_temperature": 288.15, "relative_humidity": 0.5}


def best(works: dict[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Least processor time of each, s, in turns."""
    for work in works.values():
        work()
    found = dict.fromkeys(works, np.inf)
    for _ in range(rounds):
        for name, work in works.items():
            begun = time.process_time()
            work()
            found[name] = min(found[name], time.process_time() - begun)
    return found


def summed(kelvin: float, distance: float) -> float:
    """Radiance at the sensor of a black body, by the trapezium rule over 4001 wavelengths."""
    wavelength = np.linspace(*BAND.edges, 4001)
    at, tau = spectral_transmittance(distance, **AIR)
    tau = np.interp(wavelength, at, tau)
    own, air = spectral_radiance(wavelength, kelvin), spectral_radiance(wavelength, AIR["air_temperature"])
    response = np.interp(wavelength, BAND.wavelength, BAND.response)
    return float(np.trapezoid(response * (tau * own + (1 - tau) * air), wavelength))


def main() -> None:
    """Print ratios for a view straight down and one far ahead, and the errors left."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rounds", type=int, default=12)
    rounds = parser.parse_args().rounds
    rng = np.random.default_rng(1)
    radiance = TABLE.radiance(rng.uniform(280.0, 330.0, SHAPE)).astype(np.float32)
    share, back = np.full(SHAPE, 0.95, np.float32), np.full(SHAPE, 20.0, np.float32)
    for name, (near, far) in {"straight down, 60 to 63 m": (60, 63), "ahead, 40 to 400 m": (40, 400)}.items():
        metres = np.linspace(near, far, radiance.size).reshape(SHAPE).astype(np.float32)

        def single(metres: np.ndarray = metres) -> object:
            path = air_path(BAND, metres, **AIR)
            around = Surroundings(back, path.transmittance, path.radiance)
            return surface_temperature_and_sensitivities(TABLE, radiance, share, around)

        def through(weather: dict[str, float], metres: np.ndarray = metres) -> object:
            known = {"emissivity": share, "reflected_radiance": back, "distance": metres}
            return surface_temperature_through_air(TABLE, radiance, **known, **weather)

        works = {
            "single pass": single,
            "through air": lambda: through(AIR),
            "through air, new weather": lambda: through({**AIR, "air_temperature": 288.15 + rng.random()}),
        }
        times = best(works, rounds)
        print(f"{name}: single pass {1e3 * times['single pass']:.1f} ms; ratios to it")
        for work, seconds in times.items():
            print(f"  {work:26s} {seconds / times['single pass']:.2f}")
    errors()


def errors() -> None:
    """Error left by each against the sum over wavelengths, surface at 60 C."""
    for metres in (30.0, 100.0, 500.0):
        seen = summed(333.15, metres)
        path = air_path(BAND, metres, **AIR)
        one = float(TABLE.temperature((seen - float(path.radiance)) / float(path.transmittance)))
        found = surface_temperature_through_air(
            TABLE, seen, emissivity=1.0, reflected_radiance=0.0, distance=metres, **AIR
        )
        print(
            f"60 C through {metres:g} m: one transmittance {1e3 * (one - 333.15):+.0f} mK, following the source "
            f"{1e3 * (float(found.temperature) - 333.15):+.2f} mK"
        )


if __name__ == "__main__":
    main()
