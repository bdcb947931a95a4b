"""Contrast-noise limit of a planted fault, and the warmth that puts it at a multiple of that limit.

The limit is the at-sensor rise over the surroundings, after blur and sampling, equal to one sigma of noise, fine
fixed pattern and local clutter. Rise: mean apparent temperature over the pixels that reach half of the greatest
warming, minus the mean of the ring; a fault in a cold dip of its ground has to make up for the dip first.
Clutter: standard deviation of the apparent temperature without the fault over a ring whose diameters are 1.5 and
3 times the target's, at least 3 px wide (for an area: the part of the ring on the same surface). A fault's limit
is the median over the frames that show it nearest to their middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.band import BandTable
from groundglow.model.pose import ground_to_pixel
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.path import Shot
from groundglow.simulate.flight.render import Window, render
from groundglow.simulate.flight.trace import Air, Sky, World
from groundglow.simulate.site.faults import Fault
from groundglow.simulate.site.paint import Scene, stamp
from groundglow.simulate.site.parts import Feature

__all__ = ["Planted", "Sight", "Stage", "lift", "plant", "scaled", "sights_of", "where_seen"]

#: A shot, and column and row at which it shows a place.
Seen = tuple[Shot, float, float]
_FRAMES = {"spot": 5, "area": 2}
_TRIAL_K = 5.0
#: A fault warms its place by at least this part of the limit, even where the ground alone stands out so far.
_LEAST = 0.5


@dataclass(frozen=True)
class Stage:
    """One flight ready to be looked at.

    ``world`` gets the faults; ``clean`` is the same without any. ``shots`` are all true ones; ``pattern`` is the
    camera's, K.
    """

    name: str
    scene: Scene
    world: World
    clean: World
    sky: Sky
    air: Air
    shots: Sequence[Shot]
    table: BandTable
    pattern: NDArray[np.float32]

    @cached_property
    def fine_pattern(self) -> float:
        """Rms of what the pattern changes from a pixel to its neighbourhood, K."""
        return float((self.pattern - cv2.blur(self.pattern, (15, 15))).std())


@dataclass(frozen=True)
class Planted:
    """A fault at its level: ``limit`` is the contrast-noise limit, ``around_k`` the temperature without it, K."""

    fault: Fault
    limit: float
    around_k: float


@dataclass(frozen=True)
class Sight:
    """A fault in one frame: pixel, diameter in px; rise over the ring, its part by the fault alone, limit, K."""

    frame: str
    column: float
    row: float
    diameter_px: float
    rise: float
    own: float
    limit: float


def where_seen(
    shots: Sequence[Shot], place: NDArray[np.float64], border: float = 8.0
) -> list[tuple[Shot, float, float]]:
    """Shots that hold a place at least ``border`` px inside, nearest to the middle first."""
    shape = (CAMERA.rows, CAMERA.columns)
    found = []
    for shot in shots:
        column, row = (float(v) for v in ground_to_pixel(place, shot.position, shot.rotation, CAMERA.focal_px, shape))
        inside = border <= column <= CAMERA.columns - 1 - border and border <= row <= CAMERA.rows - 1 - border
        if inside:
            found.append((shot, column, row))
    return sorted(found, key=lambda f: np.hypot(f[1] - (CAMERA.columns - 1) / 2, f[2] - (CAMERA.rows - 1) / 2))


def plant(stage: Stage, feature: Feature) -> None:
    """Add a feature to the stage's temperatures in place."""
    warm = stage.scene.temperature
    window = stamp(warm, stage.scene.grid, feature)
    stage.world.radiance[window] = stage.table.radiance(warm[window])


def lift(stage: Stage, feature: Feature) -> None:
    """Undo `plant` of the last feature: what is there again is what ``clean`` holds."""
    window = stage.scene.grid.window(feature.box, margin=4 * feature.edge)
    stage.world.radiance[window] = stage.clean.radiance[window]
    stage.scene.temperature[window] = stage.table.temperature(stage.clean.radiance[window])


def _around(fault: Fault, shot: Shot, column: float, row: float) -> tuple[Window, float]:
    """Window that holds the ring, and the target's diameter, px."""
    distance = float(np.linalg.norm(fault.place - shot.position))
    diameter = fault.diameter * CAMERA.focal_px / distance
    half = int(np.ceil(max(1.5 * diameter, 0.75 * diameter + 3.0))) + 3
    return Window(round(column) - half, round(row) - half, 2 * half + 1, 2 * half + 1), diameter


def _sight(stage: Stage, fault: Fault, seen: Seen) -> Sight:
    """A planted fault in one frame: the same window with and without it."""
    shot, column, row = seen
    window, diameter = _around(fault, shot, column, row)
    views = [render(shot, world, stage.sky, stage.air, window) for world in (stage.world, stage.clean)]
    there, without = (stage.table.temperature(v.radiance.astype(np.float64)) for v in views)
    own = there - without
    core = own * fault.sign >= 0.5 * (own * fault.sign).max()
    ring = _ring(window, (column, row), diameter)
    if fault.form == "area":
        ring &= views[0].number == np.bincount(views[0].number[core]).argmax()
    noise = np.hypot(CAMERA.noise, stage.fine_pattern)
    limit = float(np.hypot(noise, without[ring].std()))
    rise = float(there[core].mean() - without[ring].mean())
    return Sight(f"{shot.name}.tif", column, row, diameter, rise, float(own[core].mean()), limit)


def _ring(window: Window, centre: tuple[float, float], diameter: float) -> NDArray[np.bool_]:
    columns, rows = np.arange(window.columns) + window.column, np.arange(window.rows) + window.row
    away = np.hypot(columns[None, :] - centre[0], rows[:, None] - centre[1])
    inner = 0.75 * diameter
    return np.asarray((away >= inner) & (away <= max(1.5 * diameter, inner + 3.0)))


def scaled(stage: Stage, fault: Fault) -> Planted:
    """The fault with the warmth that puts it at its level; the stage holds no fault before and after."""
    frames = where_seen(stage.shots, fault.place, border=20.0)[: _FRAMES[fault.form]]
    kelvin, limit = _TRIAL_K * fault.sign, 0.0
    for _ in range(2):
        plant(stage, fault.warmed(kelvin).feature)
        sights = [_sight(stage, fault, seen) for seen in frames]
        lift(stage, fault.feature)
        limit, own, rise = (float(np.median([getattr(s, n) for s in sights])) for n in ("limit", "own", "rise"))
        wanted = fault.sign * fault.level * limit - (rise - own)
        kelvin *= max(wanted / own, _LEAST * limit / abs(own))
    row, column = (round(v) for v in stage.scene.grid.cells(fault.place[:2])[::-1])
    return Planted(fault.warmed(kelvin), limit, float(stage.scene.temperature[row, column]))


def sights_of(stage: Stage, shots: Sequence[Shot], planted: Planted) -> list[Sight]:
    """Sights of a planted fault in these frames, in their order.

    An area fills a good part of a frame: its rise is taken as the planted multiple of its limit.
    """
    fault, seen = planted.fault, where_seen(shots, planted.fault.place)
    if fault.form == "spot":
        found = [_sight(stage, fault, s) for s in seen]
    else:
        rise = fault.sign * fault.level * planted.limit
        known = rise, rise, planted.limit
        found = [Sight(f"{s.name}.tif", c, r, _around(fault, s, c, r)[1], *known) for s, c, r in seen]
    return sorted(found, key=lambda s: s.frame)
