"""What nature does and nobody writes down: the true weather, sky and emissivities, drawn from the stated doubts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from groundglow.model.air import SKY_TEMPERATURE_SD
from groundglow.model.surface import material
from groundglow.simulate.flight.world import Weather
from groundglow.simulate.job_files import STATED
from groundglow.simulate.site.kinds import KINDS
from groundglow.simulate.site.parts import Site

__all__ = ["Nature", "draw_nature"]


@dataclass(frozen=True)
class Nature:
    """What is true and not written down: weather, and the change of each material's emissivity."""

    weather: Weather
    emissivity: dict[str, float]


def draw_nature(site: Site, rng: np.random.Generator) -> Nature:
    """One nature; errors of the conditions, the sky and the catalogue are constant over all flights."""
    stated = {name: value + rng.normal(0.0, sd) for name, (value, sd) in STATED.items()}
    weather = Weather(
        stated["air_temperature_c"] + 273.15,
        stated["relative_humidity_pct"] / 100.0,
        stated["pressure_hpa"] * 100.0,
        float(rng.normal(0.0, SKY_TEMPERATURE_SD)),
        float(np.clip(stated["cloud_fraction"], 0.0, 1.0)),
    )
    names = sorted({KINDS[s.kind].material for s in site.surfaces})
    change = {n: float(rng.normal(0.0, material(n).standard_uncertainty)) for n in names}
    return Nature(weather, change)
