"""One outing: the conditions while flying and the reference targets on the ground. SI inside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["CONDITION_DEFAULTS", "Condition", "Conditions", "Reference"]

#: Name -> (value, standard uncertainty) in SI for what nobody gave: wide on purpose, listed in the report.
CONDITION_DEFAULTS: dict[str, tuple[float, float]] = {
    "air_temperature": (288.15, 10.0),
    "relative_humidity": (0.5, 0.25),
    "pressure": (101325.0, 3000.0),
    "wind_speed": (3.0, 3.0),
    "irradiance": (400.0, 400.0),
    "cloud_fraction": (0.5, 0.4),
}


@dataclass(frozen=True)
class Condition:
    """One quantity at one time: value and standard uncertainty in SI; ``assumed`` when nobody gave it."""

    value: float
    standard_uncertainty: float
    assumed: bool = False


@dataclass(frozen=True)
class Conditions:
    """Weather through a visit, as series over time (seconds since 1970-01-01T00:00Z).

    ``values`` and ``sd`` map names such as ``air_temperature`` (K), ``relative_humidity`` (0..1),
    ``pressure`` (Pa), ``wind_speed`` (m/s), ``wind_from`` (rad), ``irradiance`` (W/m2), ``cloud_fraction``
    (0..1), ``load_fraction`` (0..1) to arrays over ``time``; NaN is unknown.
    """

    time: NDArray[np.float64]
    values: dict[str, NDArray[np.float64]]
    sd: dict[str, NDArray[np.float64]]
    notes: tuple[str, ...] = ()

    def at(self, name: str, time: float | None) -> Condition:
        """The named condition at a time, interpolated between rows and held at the ends.

        An unknown one falls back on `CONDITION_DEFAULTS` and says so (``assumed``). Without a time the
        mean over the visit is taken.
        """
        series = self.values.get(name)
        known = np.isfinite(series) if series is not None else np.zeros(0, dtype=bool)
        if series is None or not known.any():
            value, sd = CONDITION_DEFAULTS[name]
            return Condition(value, sd, assumed=True)
        when = float(np.mean(self.time[known])) if time is None else time
        value = float(np.interp(when, self.time[known], series[known]))
        fallback = 0.1 * CONDITION_DEFAULTS.get(name, (0.0, 0.0))[1]
        spread = self.sd.get(name, np.full_like(series, np.nan))[known]
        spread = np.where(np.isfinite(spread), spread, fallback)
        return Condition(value, float(np.interp(when, self.time[known], spread)))


@dataclass(frozen=True)
class Reference:
    """A target of known temperature in the scene.

    ``kind`` is water, board, tape, heated or foil. Placed by ``lon_deg``/``lat_deg`` or by ``frame`` with
    ``column``/``row``. ``use`` is ``use`` or ``withhold`` (kept back as a check). ``material`` is what its surface is
    made of, by the name in the table of materials; without it the kind decides.
    """

    name: str
    kind: str
    time: float | None
    value: float
    standard_uncertainty: float
    use: str
    lon_deg: float | None = None
    lat_deg: float | None = None
    frame: str | None = None
    column: float | None = None
    row: float | None = None
    material: str | None = None
