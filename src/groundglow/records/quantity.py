"""Quantities as people write them, a number with its unit, to SI; a missing unit is an error, never a guess."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Any, Final, Literal, NamedTuple

from groundglow.errors import InputError

__all__ = ["Kind", "in_unit", "quantity"]

Kind = Literal["length", "area", "speed", "temperature", "difference", "mass", "rate", "duration", "share"]


class _Form(NamedTuple):
    """SI unit of a kind, and two ways to write it."""

    si: str
    examples: tuple[str, str]
    least: float


_FORMS: Final[dict[str, _Form]] = {
    "length": _Form("m", ("80 m", "260 ft"), 0.0),
    "area": _Form("m**2", ("5 ha", "12 acre"), 0.0),
    "speed": _Form("m/s", ("5 m/s", "18 km/h"), 0.0),
    "temperature": _Form("kelvin", ("15 C", "59 F"), 0.0),
    "difference": _Form("kelvin", ("2 K", "4 F"), -math.inf),
    "mass": _Form("kilogram", ("400 g", "14 oz"), 0.0),
    "rate": _Form("Hz", ("9 Hz", "30 fps"), 0.0),
    "duration": _Form("s", ("20 min", "1 h"), 0.0),
    "share": _Form("", ("90 %", "0.9"), 0.0),
}
#: What people write -> what the library of units calls it.
_WRITTEN: Final[dict[str, str]] = {
    "C": "degC", "°C": "degC", "F": "degF", "°F": "degF", "K": "kelvin", "mph": "mile/hour", "fps": "Hz", "kt": "knot",
    "kn": "knot", "kts": "knot", "km/h": "km/hour", "kph": "km/hour", "m2": "m**2", "m²": "m**2", "km2": "km**2",
    "km²": "km**2", "ft2": "ft**2", "ft²": "ft**2", "ha": "hectare",
    "acres": "acre",
}  # fmt: skip
#: Definitions, exact by international agreement (foot, mile, knot, pound, acre of international feet) or by SI.
_UNITS: Final = (
    "kilo- = 1e3 = k-", "centi- = 1e-2 = c-", "milli- = 1e-3 = m-",
    "meter = [length] = m = metre = metres = meters", "second = [time] = s = sec",
    "kelvin = [temperature]; offset: 0 = K", "degree_Celsius = kelvin; offset: 273.15 = °C = degC",
    "degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = °F = degF",
    "inch = 0.0254 * meter = in", "foot = 0.3048 * meter = ft = feet", "yard = 0.9144 * meter = yd",
    "mile = 1609.344 * meter = mi", "minute = 60 * second = min", "hour = 3600 * second = h = hr",
    "gram = [mass] = g", "ounce = 28.349523125 * gram = oz", "pound = 16 * ounce = lb",
    "knot = 1852 * meter / hour", "hertz = 1 / second = Hz", "hectare = 1e4 * meter ** 2 = ha",
    "acre = 4046.8564224 * meter ** 2",
)  # fmt: skip
_DIFFERENCES: Final[dict[str, str]] = {"degC": "delta_degC", "degF": "delta_degF"}
_NUMBER = re.compile(r"\s*([-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")


def quantity(text: Any, kind: Kind, name: str) -> float:
    """A quantity in SI.

    Parameters
    ----------
    text : str
        A number with its unit, such as ``"80 m"`` or ``"262ft"``.
    kind : str
        length, area, speed, temperature, difference (of temperatures), mass, rate, duration or share.
    name : str
        What it is called where it was written, for the error.

    Raises
    ------
    InputError
        For a missing or foreign unit, what is no number, and a length, area, speed or rate below zero.

    Examples
    --------
    >>> quantity("80m", "length", "--from"), round(quantity("100 ft", "length", "--from"), 2)
    (80.0, 30.48)
    >>> quantity("15 C", "temperature", "air"), round(quantity("9 F", "difference", "rise"), 6)
    (288.15, 5.0)
    >>> quantity("80", "length", "--from")
    Traceback (most recent call last):
    groundglow.errors.InputError: --from: '80' has no unit; write for example '80 m' or '260 ft'.
    """
    form = _FORMS[kind]
    found = _NUMBER.fullmatch(str(text))
    if found is None or isinstance(text, bool):
        raise InputError(f"{name}: {text!r} is no number with a unit; write for example {_examples(form)}.")
    number, unit = float(found.group(1)), found.group(2)
    if kind == "share":
        return _share(name, text, number, unit)
    if not unit:
        raise InputError(f"{name}: {text!r} has no unit; write for example {_examples(form)}.")
    value = _converted(name, text, (number, unit), kind)
    if value < form.least:
        zero = "absolute zero" if kind == "temperature" else "zero"
        raise InputError(f"{name}: {text!r} is below {zero}; a {kind} is 0 or more. Check the sign.")
    return value


def _examples(form: _Form) -> str:
    return " or ".join(repr(e) for e in form.examples)


def _share(name: str, text: Any, number: float, unit: str) -> float:
    if unit not in ("", "%"):
        raise InputError(f"{name}: {text!r} is no share; write for example {_examples(_FORMS['share'])}.")
    value = number / 100.0 if unit == "%" else number
    if not 0 <= value <= 1:
        raise InputError(f"{name}: {text!r} is outside 0 to 1 (0 % to 100 %). Check percent against fraction.")
    return value


@cache
def _registry() -> Any:
    """A registry of these units alone: reading the library's whole list takes longer than answering."""
    from pint import UnitRegistry

    registry = UnitRegistry(None)
    for definition in _UNITS:
        registry.define(definition)
    return registry


def _converted(name: str, text: Any, given: tuple[float, str], kind: Kind) -> float:
    from pint.errors import DimensionalityError, PintError

    number, written = given
    form, unit = _FORMS[kind], _WRITTEN.get(written, written)
    if kind == "difference":
        unit = _DIFFERENCES.get(unit, unit)
    try:
        return float(_registry().Quantity(number, unit).to(form.si).magnitude)
    except (DimensionalityError, PintError, AttributeError, ValueError, TypeError) as error:
        hint = f"write for example {_examples(form)}."
        raise InputError(f"{name}: {text!r}: {written!r} is no unit of {kind}; {hint}") from error


def in_unit(value: float, unit: str, kind: Kind) -> float:
    """A value in SI in another unit, for showing.

    Examples
    --------
    >>> round(in_unit(30.48, "ft", "length"), 6), round(in_unit(5.0, "F", "difference"), 6)
    (100.0, 9.0)
    """
    name = _WRITTEN.get(unit, unit)
    if kind == "difference":
        name = _DIFFERENCES.get(name, name)
    return float(_registry().Quantity(value, _FORMS[kind].si).to(name).magnitude)
