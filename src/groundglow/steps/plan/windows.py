"""Windows that satisfy a task's rules, ranked, and the reason for every closed hour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import numpy as np
from numpy.typing import NDArray

from groundglow.kit.rules import TASK
from groundglow.steps.plan.sides import MEASURED
from groundglow.steps.plan.when import Day

__all__ = ["TWILIGHT", "Hour", "Window", "Windows", "hours_of", "light_of", "windows_of"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
#: Sun's height at the end of civil twilight, degrees (definition).
TWILIGHT: Final = -6.0
_HOUR: Final = 3600.0
_DAY: Final = 86400.0


@dataclass(frozen=True)
class Window:
    """An open stretch: from ``start`` to ``end`` UTC s; within it the best flight begins at ``best``.

    A drawn day ends as it begins: a stretch through its end is one, and its ``end`` lies beyond the day.

    ``contrast`` K and ``contrast_sd`` are means over that flight; ``contrast_to_noise`` is the mean of the sure one;
    ``light`` says day, twilight or night.
    """

    start: float
    end: float
    best: float
    contrast: float
    contrast_sd: float
    contrast_to_noise: float
    light: str
    rank: int = 0


@dataclass(frozen=True)
class Hour:
    """One hour of the day: ``time`` UTC s of its start, means over it, and why it is closed (nothing: open all of it).

    ``open_share`` 0..1. ``reasons`` are those that close any of it, the longest-lasting first.
    """

    time: float
    air: float
    target: float
    background: float
    contrast: float
    low: float
    high: float
    contrast_to_noise: float
    open_share: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Windows:
    """Ranked windows, best first, and the hours with their reasons; ``flight`` s that a window must hold."""

    windows: tuple[Window, ...]
    hours: tuple[Hour, ...]
    flight: float


def light_of(sun: float) -> str:
    """Day, twilight or night by the sun's height, rad.

    Examples
    --------
    >>> light_of(0.1), light_of(-0.05), light_of(-0.2)
    ('day', 'twilight', 'night')
    """
    return "day" if sun >= 0 else "twilight" if sun >= np.radians(TWILIGHT) else "night"


def windows_of(day: Day, *, flight: float = 1800.0) -> Windows:
    """When the rules of a task hold.

    Parameters
    ----------
    day : Day
    flight : float
        Time in the air that a window must hold, s.

    Notes
    -----
    Windows are ranked by the mean, over the best stretch of a flight's length, of the contrast less its standard
    uncertainty over the noise.
    """
    broken = _broken(day)
    closed = np.any([flags for flags, _ in broken.values()], axis=0) if broken else np.zeros(day.time.shape, bool)
    short = np.zeros(day.time.shape, bool)
    found = []
    for run in _stretches(day, ~closed):
        time = np.unwrap(day.time[run], period=_DAY)
        if time[-1] - time[0] < flight:
            short[run] = True
        else:
            found.append(_window(day, run, time, flight))
    if short.any():
        broken["flight"] = (short, np.where(short, "open for less than a flight", "").tolist())
    ranked = sorted(found, key=lambda w: (-w.contrast_to_noise, w.start))
    numbered = [Window(**{**w.__dict__, "rank": k}) for k, w in enumerate(ranked, start=1)]
    return Windows(tuple(numbered), hours_of(day, broken), flight)


def _runs(flags: Flags) -> list[NDArray[np.intp]]:
    """Indices of each stretch of True."""
    stretches = groupby(enumerate(flags.tolist()), key=lambda pair: pair[1])
    return [np.array([i for i, _ in members]) for value, members in stretches if value]


def _stretches(day: Day, free: Flags) -> list[NDArray[np.intp]]:
    """Open stretches; on a drawn day, which repeats itself, the last runs on into the first."""
    runs = _runs(free)
    drawn = day.setting.doubt is not MEASURED and abs(day.time[-1] - day.time[0] - _DAY) < 1.0
    if not (drawn and len(runs) > 1 and runs[0][0] == 0 and runs[-1][-1] == free.size - 1):
        return runs
    return [*runs[1:-1], np.concatenate([runs[-1], runs[0][1:]])]


def _window(day: Day, run: NDArray[np.intp], time: Array, flight: float) -> Window:
    step = float(day.time[1] - day.time[0])
    long = min(round(flight / step) + 1, run.size)
    score = day.contrast_to_noise[run]
    means = np.convolve(score, np.full(long, 1.0 / long), mode="valid")
    at = int(np.argmax(np.round(means, 9)))
    best = run[at : at + long]
    lights = list(dict.fromkeys(light_of(float(s)) for s in day.sun[best]))
    return Window(
        float(time[0]), float(time[-1]), float(time[at]), float(day.contrast[best].mean()),
        float(day.contrast_sd[best].mean()), float(means[at]), " and ".join(lights),
    )  # fmt: skip


def _broken(day: Day) -> dict[str, tuple[Flags, list[str]]]:
    """For each rule where it is broken, and in which words at each time."""
    w, rules = day.series, day.pair.rules
    sun = np.degrees(day.sun)
    # What is compared, and how it is told.
    values: Mapping[str, tuple[Array, str]] = {
        "least_irradiance_w_m2": (day.irradiance, "irradiance {:.0f} W/m2"),
        "most_irradiance_w_m2": (day.irradiance, "irradiance {:.0f} W/m2"),
        "most_wind_m_s": (w["wind_speed"], "wind {:.1f} m/s"),
        "most_cloud": (w["cloud_fraction"], "cloud {:.2f}"),
        "least_sun_deg": (sun, "sun at {:.0f} deg"),
        "most_sun_deg": (sun, "sun at {:.0f} deg"),
        "least_after_sunset_h": (day.after_sunset / _HOUR, "{:.1f} h after sunset"),
        "dew_margin_k": (day.dew_margin, "dew: surface {:+.1f} K from the dew point"),
        "least_load": (np.full(day.time.shape, day.setting.load), "load {:.2f}"),
        "least_contrast_to_noise": (day.contrast_to_noise, "contrast {:.1f} of noise"),
    }
    found = {}
    for name, figure in rules.items():
        series, words = values[name]
        limit = float(figure.value)
        bad = series > limit if name.startswith("most") else series < limit
        word = "at most" if name.startswith("most") else "at least"
        unit = f" {TASK[name].unit}".rstrip()
        told = [f"{words.format(v)}; {word} {limit:g}{unit}" if b else "" for v, b in zip(series, bad, strict=True)]
        if bad.any():
            found[name] = (np.asarray(bad), told)
    return found


def hours_of(day: Day, broken: Mapping[str, tuple[Flags, list[str]]]) -> tuple[Hour, ...]:
    """The hours of which more than half is known, with the reasons that close them."""
    low, high = day.interval
    number = np.floor(day.time / _HOUR)
    found = []
    numbers, sizes = np.unique(number, return_counts=True)
    for hour in numbers[sizes > 0.5 * sizes.max()]:
        at = np.flatnonzero(number == hour)
        closed = np.zeros(at.size, bool)
        reasons = []
        for flags, words in broken.values():
            bad = at[flags[at]]
            closed |= flags[at]
            if bad.size:
                reasons.append((-bad.size, words[int(bad[bad.size // 2])]))
        mean = {n: float(v[at].mean()) for n, v in (
            ("target", day.target), ("background", day.background), ("contrast", day.contrast), ("low", low),
            ("high", high), ("contrast_to_noise", day.contrast_to_noise), ("air", day.series["air_temperature"]),
        )}  # fmt: skip
        told = tuple(words for _, words in sorted(reasons, key=lambda r: r[0]))
        found.append(Hour(time=float(hour * _HOUR), open_share=float(1.0 - closed.mean()), reasons=told, **mean))
    return tuple(found)
