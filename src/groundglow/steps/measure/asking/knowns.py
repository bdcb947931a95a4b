"""What a reading is computed with: each input with its value, its doubt and where both come from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from groundglow.errors import InputError
from groundglow.model.surface import Material, emissivity_at_angle, emissivity_uncertainty_at_angle, material
from groundglow.model.weather import checked_scalar
from groundglow.records.visit import CONDITION_DEFAULTS, Condition, Conditions
from groundglow.steps.measure.air import UNKNOWN_DISTANCE
from groundglow.steps.measure.surfaces import MIXED_GROUND

__all__ = [
    "Known",
    "Made",
    "Said",
    "distance_said",
    "emissivity_said",
    "reflected_said",
    "said_or_unknown",
    "weather_said",
]

ZERO_CELSIUS = 273.15
#: Standard uncertainty of a value that somebody gave without one (common practice, no source): emissivity by eye,
#: a reflected temperature read off a wall, a weather station near by, a distance from the flight plan.
PLAIN_DOUBT = {
    "emissivity": 0.02,
    "reflected temperature": 5.0,
    "air temperature": 1.0,
    "relative humidity": 0.05,
    "pressure": 500.0,
    "cloud": 0.15,
}
#: Of a distance, as a share of it.
PLAIN_DISTANCE_SHARE = 0.1


@dataclass(frozen=True)
class Known:
    """One input of a reading, SI.

    ``origin`` says where the value comes from, ``doubt_origin`` where its standard uncertainty comes from.
    """

    name: str
    value: float
    standard_uncertainty: float
    unit: str
    origin: str
    doubt_origin: str

    @property
    def assumed(self) -> bool:
        """True when nobody gave the value."""
        return self.origin == "assumed"

    @property
    def condition(self) -> Condition:
        """The form in which the measuring step takes weather."""
        return Condition(self.value, self.standard_uncertainty, self.assumed)

    def moved(self, by: float) -> Known:
        """The same input with another value, for a what-if."""
        return replace(self, value=self.value + by)


@dataclass(frozen=True)
class Said:
    """What a person says about the scene, in the units people write; None is unsaid.

    ``reflected_c`` unsaid: what is reflected is the sky, computed from air, humidity and cloud. ``tilt_deg`` is
    of a surface seen straight from above, ``view_angle_deg`` that of sight to the normal of a level one.
    """

    emissivity: float | None = None
    emissivity_sd: float | None = None
    material: str | None = None
    reflected_c: float | None = None
    reflected_sd_k: float | None = None
    air_c: float | None = None
    air_sd_k: float | None = None
    humidity_pct: float | None = None
    humidity_sd_pct: float | None = None
    pressure_hpa: float | None = None
    cloud: float | None = None
    cloud_sd: float | None = None
    distance_m: float | None = None
    distance_sd_m: float | None = None
    tilt_deg: float | None = None
    view_angle_deg: float | None = None


def _doubt(name: str, said: float | None, plain: float, plain_origin: str = "assumed") -> tuple[float, str]:
    """Standard uncertainty as said, or a plain one, and where it comes from."""
    if said is None:
        return plain, plain_origin
    if not (np.isfinite(said) and said >= 0):
        raise InputError(f"The doubt of the {name} is {said:g}; a standard uncertainty is 0 or more.")
    return said, "given"


def said_or_unknown(value: float | None, doubt: float | None, unknown: Known) -> Known:
    """The input as said, SI, with the plain doubt where none was said; else what is known otherwise.

    Examples
    --------
    >>> nothing = Known("relative humidity", 0.5, 0.25, "", "assumed", "assumed")
    >>> said_or_unknown(0.8, None, nothing).standard_uncertainty
    0.05
    """
    name = unknown.name
    if value is None:
        spread, origin = _doubt(name, doubt, unknown.standard_uncertainty, unknown.doubt_origin)
        return replace(unknown, standard_uncertainty=spread, doubt_origin=origin)
    if not np.isfinite(value):
        raise InputError(f"The {name} is {value}; give a number.")
    plain = PLAIN_DISTANCE_SHARE * value if name == "distance" else PLAIN_DOUBT[name]
    spread, origin = _doubt(name, doubt, plain)
    return Known(name, value, spread, unknown.unit, "given", origin)


def _scaled(value: float | None, factor: float, shift: float = 0.0) -> float | None:
    return None if value is None else value * factor + shift


def _recorded(name: str, quantity: str, unit: str, conditions: Conditions | None, time: float | None) -> Known:
    """From conditions.csv, or the wide default."""
    if conditions is None:
        return Known(name, *CONDITION_DEFAULTS[quantity], unit, "assumed", "assumed")
    found = conditions.at(quantity, time)
    origin = "assumed" if found.assumed else "conditions.csv"
    stated = quantity in conditions.sd and not found.assumed
    return Known(name, found.value, found.standard_uncertainty, unit, origin, origin if stated else "assumed")


def weather_said(said: Said, conditions: Conditions | None = None, time: float | None = None) -> dict[str, Known]:
    """Air temperature, humidity, pressure and cloud, K, share, Pa, share.

    Raises
    ------
    RangeError
        When the air model does not hold there.

    Examples
    --------
    >>> air = weather_said(Said(air_c=12.0))
    >>> air["air temperature"].value, air["relative humidity"].assumed
    (285.15, True)
    """
    moist_sd = _scaled(said.humidity_sd_pct, 0.01)
    rows: tuple[tuple[str, str, str, float | None, float | None], ...] = (
        ("air temperature", "air_temperature", "K", _scaled(said.air_c, 1.0, ZERO_CELSIUS), said.air_sd_k),
        ("relative humidity", "relative_humidity", "", _scaled(said.humidity_pct, 0.01), moist_sd),
        ("pressure", "pressure", "Pa", _scaled(said.pressure_hpa, 100.0), None),
        ("cloud", "cloud_fraction", "", said.cloud, said.cloud_sd),
    )
    found = {
        name: said_or_unknown(value, doubt, _recorded(name, quantity, unit, conditions, time))
        for name, quantity, unit, value, doubt in rows
    }
    for name, quantity, *_ in rows:
        checked_scalar(quantity, found[name].value)
    return found


def distance_said(said: Said, posed: Known | None = None) -> Known:
    """Distance from camera to surface, m: as said, by the poses, or the wide default.

    Examples
    --------
    >>> distance_said(Said(distance_m=30.0)).standard_uncertainty
    3.0
    """
    unknown = posed or Known("distance", *UNKNOWN_DISTANCE, "m", "assumed", "assumed")
    found = said_or_unknown(said.distance_m, said.distance_sd_m, unknown)
    checked_scalar("distance", found.value)
    return found


def reflected_said(said: Said) -> Known | None:
    """Reflected apparent temperature, K; None when it is the sky's."""
    if said.reflected_c is None:
        return None
    nothing = Known("reflected temperature", 0.0, 0.0, "K", "assumed", "assumed")
    return said_or_unknown(said.reflected_c + ZERO_CELSIUS, said.reflected_sd_k, nothing)


@dataclass(frozen=True)
class Made:
    """What a surface is made of, as the reading needs it: emissivity towards the camera, how it mirrors, its tilt.

    ``errors`` splits the emissivity's standard uncertainty by what shares it, as materials' names; ``""`` is for
    what belongs to this surface alone. Without it all is shared under ``name``.
    """

    name: str
    emissivity: Known
    mirror_like: bool
    tilt: float
    errors: Mapping[str, float] = field(default_factory=dict)

    @property
    def shared(self) -> Mapping[str, float]:
        """Standard uncertainties of the emissivity by what shares them."""
        return self.errors or {self.name: self.emissivity.standard_uncertainty}


def emissivity_said(said: Said, band: str) -> Made | None:
    """The surface as said: by its material, by a number, or None when nothing was said.

    Raises
    ------
    InputError
        For an unknown material, an emissivity outside 0..1, or tilt and view angle together.

    Examples
    --------
    >>> emissivity_said(Said(emissivity=0.9, emissivity_sd=0.03), "7.5-13.5").emissivity.value
    0.9
    """
    of = material(said.material) if said.material else None
    if of is None and said.emissivity is None:
        return None
    if said.emissivity is not None and not 0 < said.emissivity <= 1:
        hint = "Check percent against fraction."
        raise InputError(f"emissivity is {said.emissivity:g}; allowed above 0 to 1 (a share). {hint}")
    angle = _angle(said)
    known = _number(said) if said.emissivity is not None else _of_material(said, of, angle, band)  # type: ignore[arg-type]
    mirror = of is not None and of.mirror
    return Made(of.name if of else "surface", known, mirror, seen_tilt(said, mirror_like=mirror))


def _number(said: Said) -> Known:
    nothing = Known("emissivity", *MIXED_GROUND, "", "assumed", "assumed")
    return said_or_unknown(said.emissivity, said.emissivity_sd, nothing)


def _of_material(said: Said, of: Material, angle: float, band: str) -> Known:
    name = band if band in ("8-14", "7.5-13.5") else "8-14"
    value = float(emissivity_at_angle(of, angle, band=name))
    plain = float(emissivity_uncertainty_at_angle(of, angle, band=name))
    spread, origin = _doubt("emissivity", said.emissivity_sd, plain, "table of materials")
    return Known("emissivity", value, spread, "", "table of materials", origin)


def _angle(said: Said) -> float:
    """Angle between the line of sight and the surface's normal, rad."""
    if said.tilt_deg is not None and said.view_angle_deg is not None:
        raise InputError(
            "Give the tilt of a surface seen from straight above, or the view angle to a level one, not both."
        )
    degrees = next((d for d in (said.tilt_deg, said.view_angle_deg) if d is not None), 0.0)
    if not 0 <= degrees < 90:
        raise InputError(f"The view angle is {degrees:g} degrees; allowed 0 to below 90 (from the normal).")
    return float(np.deg2rad(degrees))


def seen_tilt(said: Said, *, mirror_like: bool) -> float:
    """Tilt that gives the right mirrored sky in the measuring step, which looks straight down, rad.

    A level mirror seen at an angle mirrors the sky as far from the zenith as one of half that tilt seen from
    above; a matt level surface faces the whole sky however it is seen.
    """
    angle = _angle(said)
    if said.view_angle_deg is None:
        return angle
    return 0.5 * angle if mirror_like else 0.0
