"""The measurement model, forwards and backwards: surface temperature <-> radiance at the sensor.

L = tau_w { tau [ eps L(T) + (1 - eps) L_r ] + L_path } + L_w

with the surface's emissivity eps and temperature T, the radiance L_r that falls on it and is reflected,
the transmittance tau and own radiance L_path of the air between, and transmittance tau_w and own radiance
L_w of a window before the lens. All radiances are band radiances, W m-2 sr-1. Everything broadcasts:
emissivity per pixel, conditions per frame.

Not for: transparent or fluorescent surfaces, and specular surfaces unless L_r is the radiance from the
mirror direction.

References
----------
Kirchhoff's law and the balance at an opaque surface: common textbook form, e.g. M. F. Modest and
S. Mazumder, Radiative Heat Transfer, chapter 3 (from memory).

Examples
--------
>>> from groundglow.model.band import ideal_band, lookup
>>> table = lookup(ideal_band(8e-6, 14e-6))
>>> around = surroundings_at(table, reflected_temperature=253.15, air_temperature=293.15, transmittance=0.95)
>>> radiance = at_sensor_radiance(table, 313.15, 0.95, around)
>>> round(float(surface_temperature(table, radiance, 0.95, around)), 4)
313.15
"""

from groundglow.model.correction import Correction, redo_correction, undo_correction
from groundglow.model.measurement import (
    Sensitivities,
    at_sensor_radiance,
    surface_temperature,
    surface_temperature_and_sensitivities,
    window_sensitivities,
)
from groundglow.model.reason import Reason, no_solution
from groundglow.model.surroundings import Surroundings, surroundings_at

__all__ = [
    "Correction",
    "Reason",
    "Sensitivities",
    "Surroundings",
    "at_sensor_radiance",
    "no_solution",
    "redo_correction",
    "surface_temperature",
    "surface_temperature_and_sensitivities",
    "surroundings_at",
    "undo_correction",
    "window_sensitivities",
]
