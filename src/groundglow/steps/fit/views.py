"""What a camera would show of a target: through the air, blurred, sampled by pixels, noisy, smeared by the flight.

The same forward model that the answer uses, run once for a small picture. Bodies are simple ones of our own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import RangeError
from groundglow.kit.bodies import body_of
from groundglow.model.air import air_path
from groundglow.model.band import Band, BandTable, lookup
from groundglow.model.pointspread import PointSpread, transfer
from groundglow.model.sensing import Surroundings, at_sensor_radiance
from groundglow.records.fit import Target
from groundglow.records.kit import Combination
from groundglow.steps.fit.silhouette import Sight, silhouette
from groundglow.steps.fit.stack import stack_of

__all__ = ["Conditions", "Look", "View", "Window", "look_spread", "simulated_view", "window_of"]

Array = NDArray[np.float64]

#: K, at which noise is stated.
RATED: Final = 300.0
#: Most pixels along a side of a view, and most samples along a side of the scene that is blurred.
MOST_PIXELS: Final = 480
MOST_SAMPLES: Final = 640
#: Share of the residual pattern that goes along columns; the rest is from pixel to pixel (our choice).
_COLUMNS = 0.6
#: Waves that the ground's texture is made of, and their lengths, m (our choice).
_WAVES, _LENGTHS = 96, (0.15, 6.0)


@dataclass(frozen=True)
class Conditions:
    """One hour of a scene as one band sees it: temperatures K, humidity 0..1, pressure Pa, visibility m."""

    target: Target
    target_temperature: float
    background_temperature: float
    background_emissivity: float
    reflected_temperature: float
    air_temperature: float
    relative_humidity: float
    pressure: float = 101325.0
    visibility: float | None = None


@dataclass(frozen=True)
class Look:
    """One kit looking at the target.

    Parameters
    ----------
    distance : float
        m.
    sight : Sight
        Line of sight below the horizon, and how the target is turned.
    speed : float
        Along the flight, m/s. Things run down the picture, or along its rows where an upright thing is passed
        (`sideways`).
    probability : mapping of task to float
        As the answer has it.
    label : str
        Shown above the picture; empty: the name of the camera.
    note : str
        Said beside the probabilities, such as an interval.
    """

    combination: Combination
    distance: float
    sight: Sight
    speed: float = 0.0
    probability: Mapping[str, float] = field(default_factory=dict)
    label: str = ""
    note: str = ""

    @property
    def sideways(self) -> bool:
        """Whether the flight goes past the target rather than over it."""
        return self.sight.depression < 0.25 * math.pi


class Window(NamedTuple):
    """Part of the view plane that is shown, m, and where its middle lies from the target's: right and up, m."""

    across: float
    upright: float
    middle: tuple[float, float] = (0.0, 0.0)


class View(NamedTuple):
    """Apparent temperatures, K, row by row from above, and what a pixel spans, m."""

    values: Array
    sampling: float


class _Grid(NamedTuple):
    """Pixels of the view with a margin above and below, and to the sides, and samples a pixel."""

    rows: int
    columns: int
    above: int
    beside: int
    fine: int


def window_of(target: Target, sight: Sight, *, around: float = 2.6) -> Window:
    """A window in the ratio 4 : 3 that holds a target ``around`` times over."""
    tall = target.height * math.cos(sight.depression) + target.width * math.sin(sight.depression)
    side = around * max(tall, 0.75 * target.length, 0.1)
    return Window(side * 4.0 / 3.0, side)


def look_spread(look: Look) -> PointSpread:
    """Blur of a kit at its distance and speed, px: lens, pixel, and the detector's lag along the flight."""
    still, pixel = stack_of([look.combination]).spreads[0], look.combination.ifov * look.distance
    trail = look.speed / pixel * look.combination.camera.detector.time_constant
    return replace(still, lag=(trail, 0.0) if look.sideways else (0.0, trail))


def simulated_view(conditions: Conditions, look: Look, window: Window, *, band: Band, seed: int = 0) -> View:
    """The picture that a kit would give of a target.

    Parameters
    ----------
    conditions : Conditions
    look : Look
    window : Window
        Of the view plane through the target's middle.
    band : Band
        Of the camera.
    seed : int
        Of the noise; the ground's texture is the same for all kits.

    Returns
    -------
    View

    Raises
    ------
    RangeError
        When the distance or the window is not above zero.

    Notes
    -----
    Surface temperatures of body and ground on a grid finer than the pixels; at-sensor radiance through the air of
    that distance; product with the transfer function of lens, pixel, motion and lag; every n-th sample; noise and
    residual pattern as a radiance that is the stated difference at 300 K; apparent temperature of that.
    """
    if not (look.distance > 0 and window.across > 0 and window.upright > 0):
        raise RangeError("window", (window.across, window.upright), "m", "> 0", "part of the view that is shown")
    spread, sampling = look_spread(look), look.combination.ifov * look.distance
    grid = _grid(window, sampling, spread)
    table = lookup(band)
    scene = _radiance(conditions, look, _places(grid, sampling, window), table)
    sharp = _sampled(scene, spread, grid)
    inside = sharp[grid.above : grid.rows - grid.above, grid.beside : grid.columns - grid.beside]
    noisy = inside + _noise(look.combination, inside.shape, seed) * float(table.slope(RATED))
    return View(np.asarray(table.temperature(noisy)), sampling)


def _grid(window: Window, sampling: float, spread: PointSpread) -> _Grid:
    rows, columns = (min(max(round(side / sampling), 1), MOST_PIXELS) for side in (window.upright, window.across))
    beside, above = (min(math.ceil(6 + 5 * abs(lag)), MOST_PIXELS) for lag in spread.lag)
    longest = max(rows + 2 * above, columns + 2 * beside)
    fine = int(np.clip(MOST_SAMPLES // longest, 2, 9)) | 1
    return _Grid(rows + 2 * above, columns + 2 * beside, above, beside, fine)


def _places(grid: _Grid, sampling: float, window: Window) -> tuple[Array, Array]:
    """Across (1, n) and upright (n, 1) places of the samples, m."""
    step = sampling / grid.fine
    across = (np.arange(grid.columns * grid.fine) + 0.5 - 0.5 * grid.columns * grid.fine) * step + window.middle[0]
    upright = (0.5 * grid.rows * grid.fine - 0.5 - np.arange(grid.rows * grid.fine)) * step + window.middle[1]
    return np.asarray(across[None, :], dtype=np.float64), np.asarray(upright[:, None], dtype=np.float64)


def _radiance(conditions: Conditions, look: Look, places: tuple[Array, Array], table: BandTable) -> Array:
    """At-sensor radiance of the scene, sample by sample, before any blur."""
    c, (across, upright) = conditions, places
    body = body_of(c.target.id, flat=c.target.height == 0)
    seen = silhouette(c.target, body, look.sight, across, upright)
    stretch = max(math.sin(look.sight.depression), 0.2)
    ground = c.target.clutter * _texture(across, upright / stretch)
    rise = c.target_temperature - c.background_temperature
    kelvin = c.background_temperature + np.where(seen.target, rise * seen.warmth, seen.offset + ground)
    emissivity = np.where(seen.target, c.target.emissivity, c.background_emissivity)
    air = air_path(
        table.band,
        look.distance,
        air_temperature=c.air_temperature,
        relative_humidity=c.relative_humidity,
        pressure=c.pressure,
        source_temperature=float(np.clip(c.target_temperature, 230.0, 1200.0)),
        visibility=c.visibility,
    )
    around = Surroundings(table.radiance(c.reflected_temperature), air.transmittance, air.radiance)
    return np.asarray(at_sensor_radiance(table, kelvin, emissivity, around))


def _texture(across: Array, upright: Array) -> Array:
    """Ground of standard deviation one: a sum of waves, the same at the same place for every kit."""
    east, north, phase = _waves()
    a, b = across.ravel()[:, None] * east, upright.ravel()[:, None] * north + phase
    # sin(a + b) by its parts: two products of matrices instead of a sine for each wave and sample
    return np.asarray(np.cos(b) @ np.sin(a).T + np.sin(b) @ np.cos(a).T) * math.sqrt(2.0 / _WAVES)


@lru_cache(maxsize=1)
def _waves() -> tuple[Array, Array, Array]:
    """Wave numbers east and north, 1/m, and phase."""
    random = np.random.default_rng(20260401)
    length = np.exp(random.uniform(math.log(_LENGTHS[0]), math.log(_LENGTHS[1]), _WAVES))
    turn, phase = random.uniform(0, 2 * np.pi, (2, _WAVES))
    number = 2 * np.pi / length
    return number * np.cos(turn), number * np.sin(turn), phase


def _sampled(scene: Array, spread: PointSpread, grid: _Grid) -> Array:
    """Blurred, and taken at the middle of each pixel."""
    fx = np.fft.rfftfreq(scene.shape[1], 1.0 / grid.fine)[None, :]
    fy = np.fft.fftfreq(scene.shape[0], 1.0 / grid.fine)[:, None]
    blurred = np.fft.irfft2(np.fft.rfft2(scene) * transfer(spread, fx, fy), s=scene.shape)
    first = grid.fine // 2
    return np.asarray(blurred[first :: grid.fine, first :: grid.fine])


def _noise(combination: Combination, shape: tuple[int, ...], seed: int) -> Array:
    """Noise of one frame and the residual pattern, which stays from frame to frame, K at 300 K."""
    stack, fresh, fixed = stack_of([combination]), np.random.default_rng([seed, 1]), np.random.default_rng(2)
    pattern = float(stack.pattern[0])
    columns = fixed.normal(0.0, pattern * _COLUMNS, (1, shape[1]))
    pixels = fixed.normal(0.0, pattern * math.sqrt(1.0 - _COLUMNS**2), shape)
    return np.asarray(fresh.normal(0.0, float(stack.noise[0]), shape) + columns + pixels)
