"""Surface temperature through the hours.

`forecast` runs a body of layers (`Ground`) through a `Weather` at a place and gives the surface temperature at each
step with its doubt. Bodies come from a table (`ground`), or, where nobody knows the ground, from one written rule
(`open_ground`).
"""

from groundglow.model.ground.body import Ground, Under, ground, grounds
from groundglow.model.ground.conduction import Layer, damping, damping_depth
from groundglow.model.ground.forcing import Weather, between, completed, from_extremes, skin_temperature
from groundglow.model.ground.forecast import Heat, Plane, SurfaceSeries, forecast
from groundglow.model.ground.openground import dry_surface, moist_soil, open_ground
from groundglow.model.ground.turbulence import Exchange

__all__ = [
    "Exchange",
    "Ground",
    "Heat",
    "Layer",
    "Plane",
    "SurfaceSeries",
    "Under",
    "Weather",
    "between",
    "completed",
    "damping",
    "damping_depth",
    "dry_surface",
    "forecast",
    "from_extremes",
    "ground",
    "grounds",
    "moist_soil",
    "open_ground",
    "skin_temperature",
]
