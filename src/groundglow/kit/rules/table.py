"""Reading rules: figures with value, unit and source, shipped and one's own."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any, Final, NamedTuple

from groundglow.errors import InputError
from groundglow.kit.figures import Faults
from groundglow.kit.tomlfile import read_toml
from groundglow.records.kit import Figure

__all__ = ["FLYING", "TASK", "Asked", "flying_rules", "read_rules", "task_rules"]


class Asked(NamedTuple):
    """A rule: its unit, what it asks in words, and what is allowed for it."""

    unit: str
    words: str
    low: float = float("-inf")
    high: float = float("inf")


#: Rules of an hour, by the name that task files have for them.
TASK: Final[Mapping[str, Asked]] = {
    "least_irradiance_w_m2": Asked("W/m2", "irradiance on the surface at least", 0.0),
    "most_irradiance_w_m2": Asked("W/m2", "irradiance on the surface at most", 0.0),
    "most_wind_m_s": Asked("m/s", "wind at most", 0.0),
    "most_cloud": Asked("", "cloud at most", 0.0, 1.0),
    "least_sun_deg": Asked("deg", "sun above the horizon at least", -90.0, 90.0),
    "most_sun_deg": Asked("deg", "sun above the horizon at most", -90.0, 90.0),
    "least_after_sunset_h": Asked("h", "after sunset at least", 0.0, 24.0),
    "dew_margin_k": Asked("K", "surface above the dew point by"),
    "least_load": Asked("", "load at least", 0.0),
    "least_contrast_to_noise": Asked("", "contrast to noise at least", 0.0),
}
#: Rules of flying.
FLYING: Final[Mapping[str, Asked]] = {
    "climb_m_s": Asked("m/s", "rate of climb and descent at most", 0.01),
    "slope": Asked("", "climb over distance along a line at most", 0.0),
    "clearance_m": Asked("m", "kept from no-fly areas", 0.0),
    "lowest_m": Asked("m", "height above ground at least", 0.0),
    "acceleration_m_s2": Asked("m/s2", "slowing down and gathering speed", 0.01),
    "turn_rate_deg_s": Asked("deg/s", "turning in place", 0.1),
    "bank_deg": Asked("deg", "bank in a turn", 1.0, 80.0),
    "tolerance_m": Asked("m", "heights along a line simplified by", 0.01),
    "join_m": Asked("m", "gaps in a line flown through up to", 0.0),
    "transit_share": Asked("", "of the greatest airspeed between lines", 0.01, 1.0),
    "forward_overlap": Asked("", "overlap along a line", 0.0, 0.99),
    "side_overlap": Asked("", "overlap of neighbouring lines", 0.0, 0.99),
    "smear_px": Asked("px", "smear at most", 0.001),
    "budget_share": Asked("", "of the asked accuracy for smear", 0.001, 1.0),
    "coarser": Asked("", "coarser than asked at most", 0.0),
    "unseen": Asked("", "of the site in no frame at most", 0.0, 1.0),
    "worth": Asked("", "of a battery for a part of a line at least", 0.0, 1.0),
    "probability": Asked("", "probability of detection of a search", 0.001, 0.999),
}


def flying_rules(own: Path | None = None) -> dict[str, Figure]:
    """How an aircraft is flown: the shipped figures, those of one's own ``flying.toml`` on top.

    Parameters
    ----------
    own : Path or None
        A folder; a ``flying.toml`` in it is read.

    Raises
    ------
    FileError
        When it cannot be read or is no TOML.
    InputError
        With every fault of it, one a line.

    Examples
    --------
    >>> flying_rules()["slope"].value
    0.3
    """
    shipped = _shipped("flying", FLYING)
    mine = None if own is None else _file(own / "flying.toml", FLYING)
    return {**shipped, **(mine or {})}


def task_rules(name: str, own: Path | None = None) -> dict[str, Figure]:
    """When an hour is open for a task: one's own ``NAME.toml`` as a whole, else the shipped one; none of either: {}.

    Raises
    ------
    FileError, InputError
        As `flying_rules`.

    Examples
    --------
    >>> task_rules("faulty-module")["least_irradiance_w_m2"].value
    600.0
    """
    mine = None if own is None else _file(own / f"{name}.toml", TASK)
    return _shipped(name, TASK) if mine is None else mine


def _shipped(name: str, known: Mapping[str, Asked]) -> dict[str, Figure]:
    file = files(__package__).joinpath(f"{name}.toml")
    if not file.is_file():
        return {}
    return _sound(tomllib.loads(file.read_text("utf-8")), f"{name}.toml", known)


def _file(path: Path, known: Mapping[str, Asked]) -> dict[str, Figure] | None:
    if not path.is_file():
        return None
    return _sound(
        read_toml(path, advice="Write [rules] and a figure a line, as in the shipped file."), str(path), known
    )


def _sound(raw: Mapping[str, Any], where: str, known: Mapping[str, Asked]) -> dict[str, Figure]:
    faults = Faults(where)
    for name in raw.keys() - {"rules"}:
        faults.unknown("file", name, ("rules",))
    table = raw.get("rules", {})
    found = read_rules("rules", table, known, faults) if isinstance(table, dict) else {}
    if not isinstance(table, dict):
        faults.say("rules", "is not a table")
    if faults.lines:
        raise InputError("\n".join(faults.lines))
    return found


def read_rules(place: str, table: Mapping[str, Any], known: Mapping[str, Asked], faults: Faults) -> dict[str, Figure]:
    """Figures of a table of rules; every fault is said."""
    found = {}
    for name, raw in table.items():
        if name not in known:
            faults.unknown(place, name, known)
        elif (made := read_figure(f"{place}.{name}", raw, known[name].unit, faults)) is not None:
            low, high = known[name].low, known[name].high
            if not low <= float(made.value) <= high:
                faults.say(
                    f"{place}.{name}", f"is {made.value:g} {made.unit}".rstrip() + f"; allowed {low:g} to {high:g}"
                )
            found[name] = made
    return found


def read_figure(place: str, raw: Any, unit: str, faults: Faults) -> Figure | None:
    """A figure written as value, unit and source; None with the fault said."""
    if not isinstance(raw, dict) or not isinstance(raw.get("value"), int | float) or isinstance(raw.get("value"), bool):
        faults.say(place, f'write {{ value = 1.0, unit = "{unit}", source = "where it comes from" }}')
    elif raw.get("unit") != unit:
        faults.say(place, f"unit is {raw.get('unit')!r}; allowed {unit!r}")
    elif not raw.get("source"):
        faults.say(place, 'source is missing: say where the number comes from, such as source = "my own, 2026"')
    else:
        return Figure(float(raw["value"]), unit, str(raw["source"]), raw.get("standard_uncertainty"))
    return None
