"""Numbers in the units that a person reads: metres, degrees Celsius, grams; or feet, degrees Fahrenheit, ounces."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from groundglow.records.quantity import in_unit

__all__ = ["METRIC", "Measures"]

_ONE: Final = r"[-+±]?\d+(?:\.\d+)?"
#: A number with its unit in a sentence, or several that share one ("5 to 120 m", "40 x 30 m").
_SAID: Final = re.compile(rf"(?<![\w.])((?:{_ONE}(?: to | x | by ))*)({_ONE}) (m/s|m²|m|ha|km²|°C|K|g)(?![\w/²])")
_ZERO: Final = 273.15
_ACRE: Final = 4046.8564224
#: Below this many ounces a mass is told in them, from there on in pounds.
_OUNCES: Final = 32.0


@dataclass(frozen=True)
class Measures:
    """Units that are shown: ``"m"`` for m, m/s, ha, degrees Celsius, K and g; ``"ft"`` for ft, mph, acres, degrees
    Fahrenheit (differences too) and oz. Pixels, Hz, mm of a lens, minutes and shares are the same in both.

    Examples
    --------
    >>> Measures().length(30.48), Measures("ft").length(30.48), Measures("ft").temperature(293.15)
    ('30 m', '100 ft', '68.0 °F')
    """

    long: Literal["m", "ft"] = "m"

    @property
    def metric(self) -> bool:
        """Whether nothing has to be turned."""
        return self.long == "m"

    def long_value(self, metres: float) -> float:
        """A length in the unit shown."""
        return in_unit(metres, self.long, "length")

    def warm_value(self, kelvin: float) -> float:
        """A temperature in the unit shown."""
        return in_unit(kelvin, "C" if self.metric else "F", "temperature")

    def difference_value(self, kelvin: float) -> float:
        """A difference of temperatures in the unit shown."""
        return in_unit(kelvin, self.difference_unit.removeprefix("°"), "difference")

    @property
    def degree(self) -> str:
        """Sign of the unit of temperature."""
        return "°C" if self.metric else "°F"

    @property
    def difference_unit(self) -> str:
        """Sign of the unit of a difference of temperatures."""
        return "K" if self.metric else "°F"

    @property
    def speed_unit(self) -> str:
        """Sign of the unit of speed."""
        return "m/s" if self.metric else "mph"

    def length(self, metres: float) -> str:
        """A length in words: two figures, whole units from ten on."""
        value = self.long_value(metres)
        return f"{value:.0f} {self.long}" if value >= 9.95 else f"{value:.2g} {self.long}"

    def way(self, metres: float) -> str:
        """A length to be flown in words: kilometres or miles where it is long."""
        unit, least = ("km", 2e3) if self.metric else ("mi", 1609.344)
        return self.length(metres) if metres < least else f"{in_unit(metres, unit, 'length'):.3g} {unit}"

    def short_length(self, metres: float) -> str:
        """A small length in words: cm or in."""
        value, unit = (100 * metres, "cm") if self.metric else (in_unit(metres, "in", "length"), "in")
        return f"{value:.2g} {unit}" if value < 99.5 else f"{value:.0f} {unit}"

    def speed_value(self, metres_a_second: float) -> float:
        """A speed in the unit shown: m/s, or miles an hour beside feet."""
        return in_unit(metres_a_second, self.speed_unit, "speed")

    def speed(self, metres_a_second: float) -> str:
        """A speed in words."""
        return f"{self.speed_value(metres_a_second):.2g} {self.speed_unit}"

    def area(self, square_metres: float) -> str:
        """An area in words: m², ha or km²; ft² or acres."""
        steps = (("m2", "m²", 1e4), ("ha", "ha", 1e7), ("km2", "km²", 1e99))
        if not self.metric:
            steps = (("ft2", "ft²", _ACRE), ("acre", "acres", 1e99), ("acre", "acres", 1e99))
        unit, name, _ = next(step for step in steps if square_metres < step[2])
        value = in_unit(square_metres, unit, "area")
        return f"{float(f'{value:.3g}'):,.0f} {name}" if value >= 99.95 else f"{value:.3g} {name}"

    def mass(self, kilograms: float) -> str:
        """A mass in words: g; oz or lb."""
        if self.metric:
            return f"{1e3 * kilograms:.0f} g"
        ounces = in_unit(kilograms, "oz", "mass")
        return f"{ounces:.2g} oz" if ounces < _OUNCES else f"{in_unit(kilograms, 'lb', 'mass'):.1f} lb"

    def temperature(self, kelvin: float) -> str:
        """A temperature in words."""
        return f"{self.warm_value(kelvin):.1f} {self.degree}"

    def difference(self, kelvin: float, *, sign: str = "") -> str:
        """A difference of temperatures in words; ``sign`` "+" shows its sign, "±" stands before a half width."""
        plus, before = ("+", "") if sign == "+" else ("", sign)
        return f"{before}{self.difference_value(kelvin):{plus}.1f} {self.difference_unit}"

    def within(self, kelvin: float) -> str:
        """Half a width as somebody asked for it."""
        return f"±{round(self.difference_value(kelvin), 1):g} {self.difference_unit}"

    def spoken(self, words: str) -> str:
        """A sentence with its lengths, speeds, areas, temperatures, differences and masses turned into the units shown.

        Examples
        --------
        >>> Measures("ft").spoken("81 m farther away: at 106 m, 5.0 m/s slower")
        '266 ft farther away: at 348 ft, 11 mph slower'
        >>> Measures("ft").spoken("the limits are 5 to 120 m; air of 0 to 40 °C, ±5.0 K, 300 g")
        'the limits are 16 to 394 ft; air of 32 to 104 °F, ±9.0 °F, 11 oz'
        """
        return words if self.metric else _SAID.sub(self._turned, words)

    def _turned(self, found: re.Match[str]) -> str:
        """One number, or several that share a unit, in the units shown."""
        before, last, unit = found.groups()
        told = _WORDS[unit]
        shared = re.sub(_ONE, lambda number: told(self, number[0]).rsplit(" ", 1)[0], before)
        return shared + told(self, last)


def _signed(turn: Callable[[Measures, float], str]) -> Callable[[Measures, str], str]:
    """Turn the number behind a sign and set the sign before it again."""

    def told(measures: Measures, number: str) -> str:
        bare = number.lstrip("+-±")
        return number[: len(number) - len(bare)] + turn(measures, float(bare))

    return told


#: Unit in a sentence -> number as written to words.
_WORDS: Final[Mapping[str, Callable[[Measures, str], str]]] = {
    "m": _signed(Measures.length),
    "m/s": _signed(Measures.speed),
    "m²": _signed(Measures.area),
    "ha": _signed(lambda measures, value: measures.area(1e4 * value)),
    "km²": _signed(lambda measures, value: measures.area(1e6 * value)),
    "g": _signed(lambda measures, value: measures.mass(1e-3 * value)),
    "K": _signed(lambda measures, value: measures.difference(value)),
    "°C": lambda measures, number: f"{measures.warm_value(float(number) + _ZERO):.0f} {measures.degree}",
}

METRIC = Measures()
