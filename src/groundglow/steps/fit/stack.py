"""Many combinations as arrays, one row each: what the kernels read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.pointspread import NOMINAL_WAVELENGTH, PointSpread
from groundglow.records.kit import Aircraft, Combination

__all__ = ["Stack", "stack_of"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Stack:
    """Columns over combinations (N,), SI.

    ``band`` and ``spread`` index `bands` and `spreads`; ``columns`` and ``rows`` px; ``noise`` K at 300 K behind the
    lens; ``accuracy`` K, NaN for none; ``slowest`` and ``fastest`` m/s through the air; ``rate`` Hz, the highest
    allowed.
    """

    combinations: Sequence[Combination]
    bands: tuple[tuple[float, float], ...]
    spreads: tuple[PointSpread, ...]
    band: Index
    spread: Index
    ifov: Array
    columns: Array
    rows: Array
    noise: Array
    pattern: Array
    drift: Array
    accuracy: Array
    time_constant: Array
    slowest: Array
    fastest: Array
    rate: Array
    mass: Array

    @property
    def size(self) -> int:
        """Number of combinations."""
        return len(self.combinations)


def _spread(c: Combination) -> tuple[float, float]:
    """Diffraction and aberration, px."""
    pitch = c.camera.detector.pitch
    return NOMINAL_WAVELENGTH * c.lens.f_number / pitch, c.lens.aberration / pitch


def _numbered(values: Sequence[tuple[float, float]]) -> tuple[tuple[tuple[float, float], ...], Index]:
    names = {value: i for i, value in enumerate(dict.fromkeys(values))}
    return tuple(names), np.array([names[v] for v in values], dtype=np.intp)


def _noise(c: Combination) -> float:
    """Of the camera with this lens: less light, more noise (power on a pixel goes with transmission / f-number^2)."""
    return c.camera.noise * (c.lens.f_number / c.camera.noise_f_number) ** 2 / c.lens.transmission


def _speeds(aircraft: Aircraft | None) -> tuple[float, float]:
    return aircraft.speeds if aircraft else (0.0, 0.0)


def highest_rate(c: Combination, limit: float | None) -> float:
    """Highest frame rate of a camera within a limit, Hz; 0 where it has none."""
    return max((rate for rate in c.camera.frame_rates if limit is None or rate <= limit), default=0.0)


def stack_of(combinations: Sequence[Combination], *, highest_frame_rate: float | None = None) -> Stack:
    """Columns of these combinations."""

    def column(of: Callable[[Combination], float]) -> Array:
        return np.array([of(c) for c in combinations], dtype=np.float64)

    bands, band = _numbered([c.camera.detector.band for c in combinations])
    pairs, spread = _numbered([_spread(c) for c in combinations])
    accuracy = column(lambda c: np.nan if c.camera.accuracy is None else c.camera.accuracy)
    return Stack(
        combinations=combinations,
        bands=bands,
        spreads=tuple(PointSpread(diffraction=d, aberration=a) for d, a in pairs),
        band=band,
        spread=spread,
        ifov=column(lambda c: c.ifov),
        columns=column(lambda c: c.camera.detector.columns),
        rows=column(lambda c: c.camera.detector.rows),
        noise=column(_noise),
        pattern=column(lambda c: c.camera.pattern),
        drift=column(lambda c: c.camera.drift),
        accuracy=accuracy,
        time_constant=column(lambda c: c.camera.detector.time_constant),
        slowest=column(lambda c: _speeds(c.aircraft)[0]),
        fastest=column(lambda c: _speeds(c.aircraft)[1]),
        rate=column(lambda c: highest_rate(c, highest_frame_rate)),
        mass=column(lambda c: c.mass),
    )
