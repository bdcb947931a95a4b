"""Numbers in the units that a person reads: m or ft, degrees Celsius or Fahrenheit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from groundglow.records.quantity import in_unit

__all__ = ["METRIC", "Measures"]


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

    def temperature(self, kelvin: float) -> str:
        """A temperature in words."""
        return f"{self.warm_value(kelvin):.1f} {self.degree}"


METRIC = Measures()
