"""Temperatures and rises in the unit that a report's reader uses."""

from __future__ import annotations

import re
from typing import Any

from groundglow.frames.units import ZERO_CELSIUS

__all__ = ["SYMBOLS", "in_reading_unit", "reworded", "rise_scale"]

SYMBOLS = {"C": "°C", "F": "°F", "K": "K"}
#: Degrees Fahrenheit a kelvin, and where water freezes; by definition.
FAHRENHEIT_A_KELVIN, FREEZING_F = 1.8, 32.0
_CELSIUS = re.compile(r"(?<![\w.])([-+]?\d+\.\d+)(?: to ([-+]?\d+\.\d+))? °C")


def in_reading_unit(value: float, unit: str, shown: str = "C") -> str:
    """A value as people read it: degrees Celsius, degrees Fahrenheit or kelvin; or counts.

    Examples
    --------
    >>> in_reading_unit(298.15, "K"), in_reading_unit(298.15, "K", "F"), in_reading_unit(7000.4, "counts")
    ('25.0 °C', '77.0 °F', '7000 counts')
    """
    if unit != "K":
        return f"{value:.0f} counts"
    return f"{_from_celsius(value - ZERO_CELSIUS, shown):.1f} {SYMBOLS[shown]}"


def _from_celsius(value: float, shown: str) -> float:
    if shown == "F":
        return value * FAHRENHEIT_A_KELVIN + FREEZING_F
    return value + ZERO_CELSIUS if shown == "K" else value


def rise_scale(unit: str, shown: str = "C") -> tuple[float, str]:
    """What a rise is multiplied by, and the name of its unit.

    Examples
    --------
    >>> rise_scale("K", "F"), rise_scale("counts", "F"), rise_scale("K", "C")
    ((1.8, '°F'), (1.0, 'counts'), (1.0, 'K'))
    """
    return (FAHRENHEIT_A_KELVIN, SYMBOLS["F"]) if unit == "K" and shown == "F" else (1.0, unit)


def reworded(said: Any, shown: str) -> Any:
    """Words of earlier steps, in lists and mappings too, with their degrees Celsius turned.

    Examples
    --------
    >>> reworded(["10.0 to 20.0 °C", 3], "F")
    ['50.0 to 68.0 °F', 3]
    """
    if shown == "C":
        return said
    if isinstance(said, str):
        return _CELSIUS.sub(lambda m: _turned(m, shown), said)
    if isinstance(said, dict):
        return {k: reworded(v, shown) for k, v in said.items()}
    return [reworded(v, shown) for v in said] if isinstance(said, list | tuple) else said


def _turned(found: re.Match[str], shown: str) -> str:
    ends = [f"{_from_celsius(float(v), shown):.1f}" for v in found.groups() if v is not None]
    return f"{' to '.join(ends)} {SYMBOLS[shown]}"
