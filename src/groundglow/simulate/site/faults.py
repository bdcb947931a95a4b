"""What is wrong with the site: hot cells and clamps, warm and cold spots, a wet roof patch, a warm inflow."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.errors import JobError
from groundglow.simulate.site.decoys import Decoys
from groundglow.simulate.site.field import CELL_M, cell_place
from groundglow.simulate.site.grounds import inflow_outline, wet_outline
from groundglow.simulate.site.paint import Scene
from groundglow.simulate.site.parts import Feature, Outline, Surface
from groundglow.simulate.site.shade import shadows

__all__ = ["LEVELS", "Fault", "in_close_pass", "place_faults"]

#: Planted contrasts in multiples of the contrast-noise limit.
LEVELS = (1.5, 2.0, 3.0, 5.0, 10.0)
_APART_M = 2.2
_TRIES = 4000


@dataclass(frozen=True)
class Fault:
    """One planted fault; its feature has the sign's unit of warmth until its level is worked out.

    ``flight`` names the flight whose contrast-noise limit the level refers to. ``form`` is spot or area.
    """

    name: str
    kind: str
    level: float
    sign: int
    surface: str
    height: float
    feature: Feature
    flight: str = "overview"
    form: str = "spot"

    @property
    def diameter(self) -> float:
        """Of a disc of the same area as seen from above, m."""
        outline = self.feature.outline
        if outline is not None:
            return float(np.sqrt(4 / np.pi * cv2.contourArea(outline.astype(np.float32))))
        width, length = self.feature.size
        share = 4 / np.pi if self.feature.form == "square" else 1.0
        return float(np.sqrt(width * length * share))

    @property
    def place(self) -> NDArray[np.float64]:
        """East, north, up, m."""
        return np.array([self.feature.east, self.feature.north, self.height])

    def warmed(self, kelvin: float) -> Fault:
        """The same fault with this departure at its centre, K."""
        return replace(self, feature=replace(self.feature, kelvin=kelvin))


@dataclass
class _Ground:
    """Where faults may still go."""

    scene: Scene
    decoys: Decoys
    rng: np.random.Generator
    taken: list[tuple[float, float]]

    def free(self, east: float, north: float) -> bool:
        """Far enough from all faults, warm boxes and soiled patches."""
        return all(np.hypot(east - x, north - y) > _APART_M for x, y in self.taken)


def place_faults(scene: Scene, decoys: Decoys, rng: np.random.Generator) -> list[Fault]:
    """Five spots for the overview and one for the close pass at each level, and two areas.

    Returns
    -------
    list of Fault
        With features of one kelvin (signed); `groundglow.simulate.flight.limit` scales them.
    """
    others = [(b.east, b.north) for b in decoys.boxes] + [s.centre for s in decoys.soiled]
    ground = _Ground(scene, decoys, rng, others)
    faults = [_wet_patch(), _inflow()]
    for number, level in enumerate(LEVELS):
        for make in (_close_cell, _cell, _joint, _roof_spot, _ground_spot, _part_cell):
            faults.append(make(ground, level, number))
            ground.taken.append((faults[-1].feature.east, faults[-1].feature.north))
    return [replace(f, name=f"F{k + 1:02d}") for k, f in enumerate(faults)]


def _wet_patch() -> Fault:
    outline = wet_outline()
    east, north = outline.mean(axis=0)
    feature = Feature(float(east), float(north), (0.0, 0.0), -1.0, edge=0.12, outline=outline)
    return Fault("", "wet roof patch", 6.0, -1, "roof", 3.5, feature, form="area")


def _inflow() -> Fault:
    outline = inflow_outline()
    east, north = outline.mean(axis=0)
    feature = Feature(float(east), float(north), (0.0, 0.0), 1.0, edge=0.18, outline=outline)
    return Fault("", "warm inflow", 8.0, 1, "pond", -0.3, feature, form="area")


def _module(ground: _Ground, wanted: Callable[[Surface], bool], size: float) -> tuple[Surface, Feature]:
    modules = [s for s in ground.scene.site.named("module") if wanted(s) and s.name not in ground.decoys.modules]
    for k in ground.rng.permutation(len(modules)):
        place = cell_place(modules[k], int(ground.rng.integers(2, 4)), int(ground.rng.integers(2, 6)))
        if ground.free(*place):
            run = cell_place(modules[k], 0, 1)[1] - cell_place(modules[k], 0, 0)[1]
            feature = Feature(*place, (size, size * run / CELL_M), 1.0, form="square", edge=0.02)
            return modules[k], feature
    raise JobError("the invented field has no module left for a hot cell; ask for fewer faults")


def _hot_cell(ground: _Ground, level: float, wanted: Callable[[Surface], bool], size: float) -> Fault:
    module, feature = _module(ground, wanted, size)
    height = module.height(feature.east, feature.north)
    return Fault("", "hot cell", level, 1, module.name, height, feature)


def in_close_pass(surface: Surface) -> bool:
    """Whether the close pass flies over a module: two rows, east of the gap in the field."""
    east, north = surface.centre
    return -19.0 < east < 25.0 and 3.0 < north < 14.0


def _close_cell(ground: _Ground, level: float, number: int) -> Fault:
    return _hot_cell(ground, level, in_close_pass, CELL_M)


def _cell(ground: _Ground, level: float, number: int) -> Fault:
    return _hot_cell(ground, level, lambda s: not in_close_pass(s) and _often_seen(s), CELL_M)


def _often_seen(surface: Surface) -> bool:
    """Where the overview passes more than two or three times."""
    east, north = surface.centre
    return east > -27.0 and north < 22.0


def _part_cell(ground: _Ground, level: float, number: int) -> Fault:
    return replace(_hot_cell(ground, level, in_close_pass, 0.12), kind="hot part of a cell", flight="close")


def _joint(ground: _Ground, level: float, number: int) -> Fault:
    """A clamp of a busbar or the head of a bushing."""
    kind = "insulator" if number % 2 else "clamp"
    known = ground.scene.site.named(kind)
    for k in ground.rng.permutation(len(known)):
        if ground.free(*known[k].centre):
            size, form = (0.34, "disc") if kind == "insulator" else (0.28, "square")
            east, north = known[k].centre
            feature = Feature(east, north, (size, size), 1.0, form=form)
            label = "hot bushing" if kind == "insulator" else "hot clamp"
            return Fault("", label, level, 1, known[k].name, known[k].plane[0], feature)
    raise JobError("the invented yard has no joint left for a fault; ask for fewer faults")


def _roof_spot(ground: _Ground, level: float, number: int) -> Fault:
    label, sign = ("leak under the roof", -1) if number % 2 else ("warm vent in the roof", 1)
    return _open_spot(ground, (label, level, sign), ("roof",), 3.5)


def _ground_spot(ground: _Ground, level: float, number: int) -> Fault:
    label, sign = ("warm vent in the ground", 1) if number % 2 else ("seep in the ground", -1)
    return _open_spot(ground, (label, level, sign), ("pad", "grass", "track"), 0.0)


def _open_spot(ground: _Ground, what: tuple[str, float, int], surfaces: tuple[str, ...], height: float) -> Fault:
    label, level, sign = what
    for east, north, size in _throws(ground, surfaces[ground.rng.integers(len(surfaces))], height):
        feature = Feature(east, north, (size, size), float(sign), edge=0.04)
        names = ground.scene.site.surfaces
        row, column = ground.scene.grid.window(feature.box)
        surface = names[int(ground.scene.index[row.start, column.start])].name
        return Fault("", label, level, sign, surface, height, feature)
    raise JobError("the invented site has no open ground left for a fault; ask for fewer faults")


def _throws(ground: _Ground, surface: str, height: float) -> Iterator[tuple[float, float, float]]:
    """Random places and sizes on an even, sunlit part of a surface that many frames show."""
    site, dark = ground.scene.site, list(shadows(ground.scene.site, height).values())
    number = [s.name for s in site.surfaces].index(surface)
    low, high = (f(site.surfaces[number].outline, axis=0) for f in (np.min, np.max))
    low, high = np.maximum(low, (-33.0, -29.0)), np.minimum(high, (29.0, 29.0))
    for _ in range(_TRIES):
        east, north = ground.rng.uniform(low, high)
        size = float(ground.rng.uniform(0.25, 0.55))
        around = Feature(east, north, (4 * size, 4 * size), 0.0)
        window = ground.scene.grid.window(around.box)
        even = bool((ground.scene.index[window] == number).all())
        if even and ground.free(east, north) and _away(east, north, [*dark, wet_outline()]):
            yield float(east), float(north), size


def _away(east: float, north: float, outlines: list[Outline]) -> bool:
    shapes = [o.astype(np.float32) for o in outlines]
    return all(cv2.pointPolygonTest(s, (float(east), float(north)), True) < -1.2 for s in shapes)
