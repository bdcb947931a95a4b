"""Numbers in the units that a person reads: m or ft, degrees Celsius or Fahrenheit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from groundglow.records.quantity import in_unit

__all__ = ["METRIC", "Measures"]

_SPEED, _LENGTH = (re.compile(rf"(\d+(?:\.\d+)?) {unit}(?![\w/²])") for unit in ("m/s", "m"))


@dataclass(frozen=True)
class Measures:
    """Units that are shown.

    Examples
    --------
    >>> Measures().length(30.48), Measures("ft").length(30.48), Measures("ft", "F").temperature(293.15)
    ('30 m', '100 ft', '68.0 °F')
    """

    long: Literal["m", "ft"] = "m"
    warm: Literal["C", "F"] = "C"

    def long_value(self, metres: float) -> float:
        """A length in the unit shown."""
        return in_unit(metres, self.long, "length")

    def warm_value(self, kelvin: float) -> float:
        """A temperature in the unit shown."""
        return in_unit(kelvin, self.warm, "temperature")

    @property
    def degree(self) -> str:
        """Sign of the unit of temperature."""
        return f"°{self.warm}"

    def length(self, metres: float) -> str:
        """A length in words: two figures, whole units from ten on."""
        value = self.long_value(metres)
        return f"{value:.0f} {self.long}" if value >= 9.95 else f"{value:.2g} {self.long}"

    def speed(self, metres_a_second: float) -> str:
        """A speed in words: m/s, or miles an hour beside feet."""
        unit, name = ("m/s", "m/s") if self.long == "m" else ("mph", "mph")
        return f"{in_unit(metres_a_second, unit, 'speed'):.2g} {name}"

    def area(self, square_metres: float) -> str:
        """An area in words: m², ha or km²; ft² or acres."""
        steps = (("m2", "m²", 1e4), ("ha", "ha", 1e7), ("km2", "km²", 1e99))
        if self.long == "ft":
            steps = (("ft2", "ft²", 4047.0), ("acre", "acres", 1e99), ("acre", "acres", 1e99))
        unit, name, _ = next(step for step in steps if square_metres < step[2])
        return f"{in_unit(square_metres, unit, 'area'):,.3g} {name}"

    def spoken(self, words: str) -> str:
        """A sentence with its lengths in m and speeds in m/s turned into the units shown.

        Examples
        --------
        >>> Measures("ft").spoken("81 m farther away: at 106 m, 5.0 m/s slower")
        '266 ft farther away: at 348 ft, 11 mph slower'
        """
        if self.long == "m":
            return words
        fast = _SPEED.sub(lambda found: self.speed(float(found[1])), words)
        return _LENGTH.sub(lambda found: self.length(float(found[1])), fast)

    def temperature(self, kelvin: float) -> str:
        """A temperature in words."""
        return f"{self.warm_value(kelvin):.1f} {self.degree}"


METRIC = Measures()
