"""Numbers of a reading as people write them: degrees Celsius, per cent, intervals, inputs with their doubt."""

from __future__ import annotations

import math

from groundglow.model.doubt import COVERAGE_95
from groundglow.steps.measure.asking.explaining import BudgetLine
from groundglow.steps.measure.asking.knowns import Known

__all__ = [
    "celsius",
    "doubt_text",
    "input_row",
    "interval_text",
    "sensitivity_text",
    "short",
    "signed",
    "value_text",
]

ZERO_CELSIUS = 273.15
#: Step in which a sensitivity is told: name -> (step in SI, its words).
STEPS = {
    "emissivity": (0.01, "0.01"),
    "transmittance": (0.01, "0.01"),
    "relative humidity": (0.1, "10 %"),
    "distance": (10.0, "10 m"),
}
ERRORS = ("calibration", "drift", "pattern", "noise")


def celsius(kelvin: float, *, unit: bool = True) -> str:
    """Temperature in degrees Celsius to a tenth; "none" where there is none."""
    if math.isnan(kelvin):
        return "none"
    return f"{kelvin - ZERO_CELSIUS:.1f}" + (" °C" if unit else "")


def interval_text(low: float, high: float, *, shift: float = ZERO_CELSIUS, unit: str = "") -> str:
    """Ends of an interval; below or above where one end is open."""
    if math.isinf(low) and math.isinf(high):
        return "not bounded"
    if math.isinf(low):
        return f"below {high - shift:.1f}{unit}"
    if math.isinf(high):
        return f"above {low - shift:.1f}{unit}"
    return f"{low - shift:.1f} to {high - shift:.1f}{unit}"


def signed(value: float, digits: int = 1) -> str:
    """A change with its sign; one that rounds to nothing has none."""
    text = f"{value:+.{digits}f}"
    return text.lstrip("+-") if float(text) == 0 else text


def short(name: str) -> str:
    """Name of an input as it fits a column."""
    return {"reflected temperature": "reflected", "relative humidity": "humidity"}.get(name, name)


def value_text(name: str, value: float, unit: str) -> str:
    """Value of an input as people write it; nothing for an error of the camera, which has none."""
    if name in ERRORS or math.isnan(value):
        return ""
    if unit == "K":
        return f"{value - ZERO_CELSIUS:.1f} °C"
    return _plain(name, value, unit)


def doubt_text(name: str, spread: float, unit: str) -> str:
    """Uncertainty of an input as people write it."""
    if math.isnan(spread):
        return ""
    return f"{spread:.2g} K" if unit == "K" and spread < 0.1 else _plain(name, spread, unit)


def _plain(name: str, value: float, unit: str) -> str:
    if unit == "Pa":
        return f"{value / 100:.0f} hPa"
    if unit == "":
        return f"{100 * value:.0f} %" if name in ("relative humidity", "cloud") else f"{value:.3f}"
    return f"{value:.1f} {unit}"


def input_row(known: Known) -> tuple[str, str, str, str]:
    """Name, value, half width of the 95 % interval, and where both come from."""
    name, half = known.name, COVERAGE_95 * known.standard_uncertainty
    whence = known.origin if known.doubt_origin == known.origin else f"{known.origin}, doubt {known.doubt_origin}"
    return name, value_text(name, known.value, known.unit), f"± {doubt_text(name, half, known.unit)}", whence


def sensitivity_text(line: BudgetLine) -> str:
    """Change of the temperature for a step of the input that a reader can picture."""
    if math.isnan(line.sensitivity):
        return ""
    step, words = STEPS.get(line.name, (1.0, "1 K"))
    return f"{signed(line.sensitivity * step, 2)} for {words}"
