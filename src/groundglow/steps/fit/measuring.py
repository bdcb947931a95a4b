"""How well each camera would measure the target: share of the rise that it shows, and the interval after correction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.model.doubt import COVERAGE_95
from groundglow.model.peakresponse import PeakResponse, equivalent_diffraction, peak_response
from groundglow.records.fit import Ask
from groundglow.steps.fit.air import DOUBT_DISTANCES, Doubts
from groundglow.steps.fit.settings import LEAST_PIXELS, SIZE_SD
from groundglow.steps.fit.stack import Stack

__all__ = ["Measuring", "interval_reach", "lag_at"]

Array = NDArray[np.float64]

_HALVINGS = 16
_NEAREST = 0.5  # m


def lag_at(motion: Array, distance: Array) -> Array:
    """Motion of the picture during one thermal time constant, px, by slowest, fastest and kept lag, shape (N, 3)."""
    slowest, fastest, kept = motion.T
    return np.asarray(np.maximum(slowest / distance, np.minimum(kept, fastest / distance)))


@dataclass(frozen=True, eq=False)
class Measuring:
    """What an interval hangs on: the question, the cameras, and by band the doubts at ``hours`` and the noise factor.

    ``rise`` (H,) is the target's, K; ``noise`` (N, H) the camera's own at the scene's temperature, K.
    """

    ask: Ask
    stack: Stack
    doubts: Sequence[Doubts]
    rise: Array
    noise: Array

    def at_hour(self, hour: int) -> Measuring:
        """The same at one hour alone."""
        one = slice(hour, hour + 1)
        doubts = [Doubts(*(getattr(d, f.name)[one] for f in fields(d))) for d in self.doubts]
        return replace(self, doubts=doubts, rise=self.rise[one], noise=self.noise[:, one])

    def response(self, distance: Array, lag: Array) -> PeakResponse:
        """What the peak pixel of each camera shows of the rise at its distance."""
        long, short = self.ask.target.sides(self.ask.view)
        spreads = self.stack.spreads
        blur = np.array([float(equivalent_diffraction(s.diffraction, s.aberration)) for s in spreads])
        pixels = 1.0 / (self.stack.ifov * distance)
        return peak_response(short * pixels, long * pixels, blur[self.stack.spread], lag)

    def _at(self, name: str, distance: Array) -> Array:
        """A table of doubts at each combination's distance, shape (N, H)."""
        place, nodes = np.log(distance), np.log(DOUBT_DISTANCES)
        out = np.empty((distance.size, self.rise.size))
        for b, doubts in enumerate(self.doubts):
            mine = self.stack.band == b
            for h, row in enumerate(getattr(doubts, name)):
                out[mine, h] = np.interp(place[mine], nodes, row)
        return out

    def half_width(self, distance: Array, response: PeakResponse) -> Array:
        """Half width of the 95 % interval of the corrected reading, K, shape (N, H); NaN without calibration."""
        s = self.stack
        relative = np.hypot(response.sd / response.share, np.hypot(response.by_size * SIZE_SD, response.by_blur))
        own = np.hypot(self.noise, s.pattern[:, None]) / np.maximum(response.share, 1e-9)[:, None]
        limits = s.accuracy[:, None] / 3.0**0.5  # limits of error: rectangular (JCGM 101:2008, table 1)
        if self.ask.of == "rise":
            parts = (
                self._at("rise", distance),
                self._at("rise_gain", distance) * limits,
                self._at("gain", distance) * own * 2.0**0.5,
            )
        else:
            gain = self._at("gain", distance)
            parts = (self._at("temperature", distance), gain * limits, gain * own)
        square = sum(np.square(part) for part in parts) + np.square(self.rise[None, :] * relative[:, None])
        return np.asarray(COVERAGE_95 * np.sqrt(square))


def interval_reach(of: Measuring, motion: Array, farthest: Array, hour: int) -> Array:
    """Largest distance, not beyond ``farthest``, at which the interval is as narrow as asked, m; 0 for nowhere.

    ``motion`` (N, 3): see `lag_at`. Three pixels across the shorter side are the least.
    """
    short = of.ask.target.sides(of.ask.view)[1]
    wanted, then = of.ask.accuracy or 0.0, of.at_hour(hour)
    most = np.minimum(farthest, short / (of.stack.ifov * LEAST_PIXELS))
    low, high = np.full(most.shape, np.log(_NEAREST)), np.log(np.maximum(most, _NEAREST))

    def good(log_distance: Array) -> NDArray[np.bool_]:
        distance = np.exp(log_distance)
        return np.asarray(then.half_width(distance, then.response(distance, lag_at(motion, distance)))[:, 0] <= wanted)

    start, end = good(low), good(high)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        holds = good(middle)
        low, high = np.where(holds, middle, low), np.where(holds, high, middle)
    found = np.where(end, most, np.where(start, np.exp(low), 0.0))
    return np.asarray(np.where(most > _NEAREST, found, 0.0))
