"""What a kit file may say: the figures of each table with their units and physical ranges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

__all__ = ["FIGURES", "TEXTS", "Rule"]

Form = Literal["number", "list", "pairs"]


@dataclass(frozen=True)
class Rule:
    """One figure: its unit as written, allowed range, what it is; ``form`` a number, a list of them, or pairs.

    ``scale`` and ``shift`` make SI of it; of pairs ``scales`` has one for each side. ``above`` excludes ``low`` itself.
    """

    unit: str
    low: float
    high: float
    why: str
    scale: float = 1.0
    shift: float = 0.0
    needed: bool = True
    above: bool = False
    form: Form = "number"
    scales: tuple[float, float] = (1.0, 1.0)

    @property
    def allowed(self) -> str:
        """The range in words."""
        unit = f" {self.unit}" if self.unit and self.form != "pairs" else ""
        return f"above {self.low:g} to {self.high:g}{unit}" if self.above else f"{self.low:g} to {self.high:g}{unit}"


_ZERO = 273.15
_OFFER: Final[Mapping[str, Rule]] = {
    "price": Rule("", 0, 1e8, "what it costs", needed=False),
    "lead_time_days": Rule("d", 0, 1000, "how long it takes to come", needed=False),
}

#: Table -> figure -> rule.
FIGURES: Final[Mapping[str, Mapping[str, Rule]]] = {
    "detector": {
        "columns_px": Rule("px", 1, 20000, "pixels across"),
        "rows_px": Rule("px", 1, 20000, "pixels down"),
        "pitch_um": Rule("um", 0, 100, "distance between pixel centres", 1e-6, above=True),
        "band_low_um": Rule("um", 6.5, 16, "the air model's range", 1e-6),
        "band_high_um": Rule("um", 7, 16.9, "the air model's range", 1e-6),
        "time_constant_ms": Rule("ms", 0, 100, "thermal time constant", 1e-3),
    },
    "lens": {
        "focal_mm": Rule("mm", 0, 1000, "a length", 1e-3, above=True),
        "f_number": Rule("", 0.5, 10, "focal length over aperture"),
        "transmission": Rule("", 0.3, 1, "a share: check per cent against fraction"),
        "distortion": Rule("", -0.5, 0.5, "a share of the image height at the corner", needed=False),
        "aberration_um": Rule("um", 0, 50, "standard deviation of its blur beyond diffraction", 1e-6, needed=False),
        "mass_g": Rule("g", 0, 20000, "a mass", 1e-3, needed=False),
        **_OFFER,
    },
    "camera": {
        "netd_mk": Rule("mK", 0, 1000, "noise at 300 K", 1e-3, above=True),
        "netd_f_number": Rule("", 0.5, 10, "of the lens that the noise is stated for", needed=False),
        "frame_rates_hz": Rule("Hz", 0, 1000, "frames a second", above=True, form="list"),
        "ranges_c": Rule("C", -273, 3000, "calibrated range", 1.0, _ZERO, needed=False, form="pairs"),
        "accuracy_k": Rule("K", 0, 100, "limits of error", needed=False, above=True),
        "pattern_k": Rule("K", 0, 10, "residual fixed pattern"),
        "drift_k": Rule("K", 0, 20, "level of one frame"),
        "mass_g": Rule("g", 0, 50000, "a mass", 1e-3),
        "warm_up_min": Rule("min", 0, 240, "a duration", 60.0, needed=False),
        **_OFFER,
    },
    "aircraft": {
        "endurance_kg_min": Rule(
            "kg, min", 0, 2000, "payload and endurance in still air", form="pairs", scales=(1.0, 60.0)
        ),
        "in_wind_m_s": Rule("m/s, 1", 0, 100, "wind and share of the endurance left", needed=False, form="pairs"),
        "speed_least_m_s": Rule("m/s", 0, 100, "0: it hovers"),
        "speed_most_m_s": Rule("m/s", 0, 150, "through the air", above=True),
        "wind_limit_m_s": Rule("m/s", 0, 60, "a speed", above=True),
        "ceiling_m": Rule("m", 0, 15000, "above sea level", above=True),
        "coldest_c": Rule("C", -60, 30, "air that it may fly in", 1.0, _ZERO),
        "warmest_c": Rule("C", 0, 70, "air that it may fly in", 1.0, _ZERO),
        "reserve": Rule("", 0, 0.9, "a share: check per cent against fraction"),
        **_OFFER,
    },
    "battery": {
        "share": Rule("", 0, 5, "endurance against the standard set", above=True),
        "count": Rule("", 1, 1000, "sets owned"),
        "charge_min": Rule("min", 0, 1440, "a duration", 60.0),
        "swap_min": Rule("min", 0, 240, "a duration", 60.0),
        "mass_g": Rule("g", 0, 50000, "a mass, if it differs from the standard set's", 1e-3, needed=False),
        **_OFFER,
    },
    "target": {
        "length_m": Rule("m", 0, 1000, "a side", above=True),
        "width_m": Rule("m", 0, 1000, "a side", above=True),
        "height_m": Rule("m", 0, 1000, "0: it lies flat"),
        "temperature_c": Rule("C", -100, 1200, "the same at all hours", 1.0, _ZERO, needed=False),
        "rise_k": Rule("K", -100, 500, "over its background", needed=False),
        "core_c": Rule("C", -20, 60, "of a warm body", 1.0, _ZERO, needed=False),
        "share": Rule("", 0, 1, "from the air's temperature towards the core", needed=False),
        "sun_k": Rule("K", 0, 50, "warming of a warm body's outside by 1000 W/m2 of sunshine", needed=False),
        "clutter_k": Rule("K", 0, 50, "standard deviation of the surroundings"),
        "pixels": Rule("px", 1, 100, "across the smaller side for a reading without correction", needed=False),
    },
}

#: Table -> other fields -> whether they are needed.
TEXTS: Final[Mapping[str, Mapping[str, bool]]] = {
    "detector": {"name": True, "note": False, "source": False},
    "lens": {"name": True, "note": False, "source": False, "currency": False},
    "camera": {
        "name": True, "note": False, "source": False, "currency": False, "detector": True, "lenses": True,
        "records": True, "rating": False, "mount": True,
    },
    "aircraft": {
        "name": True, "note": False, "source": False, "currency": False, "mounts": True, "rating": False,
        "battery": False,
    },
    "battery": {"name": True, "note": False, "source": False, "currency": False},
    "target": {
        "name": True, "note": False, "source": False, "material": True, "background": False, "aliases": False,
        "follows": False, "body": False, "view": False, "caution": False, "only_at": False,
    },
}  # fmt: skip
