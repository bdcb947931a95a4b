"""From links to the registration of a flight: pattern, ties, levels and how well overlaps agree."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.records.log import FlightLog
from groundglow.records.tie import Level, Registration, Tie
from groundglow.steps.register.large import LargeScale, polynomials, solve_large_scale, unit_places
from groundglow.steps.register.levels import Levelled, solve_levels
from groundglow.steps.register.link import Link
from groundglow.steps.register.loops import consistent_links
from groundglow.steps.register.middle import refine_pattern
from groundglow.steps.register.overlap import overlap_difference
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Registered", "solve"]


@dataclass(frozen=True)
class Registered:
    """A flight's registration and the arrays that go with it.

    Parameters
    ----------
    registration : Registration
    pattern : ndarray float32, shape (rows, columns)
        Fixed pattern of the flight, mean zero, unit of the values: subtract it from every frame.
    slopes : mapping of str to (float, float)
        By frame, what the level changes over half the width and half the height of the frame; empty unless
        ``settings.slopes``. Subtract ``offset + slope . place`` with the place -1..1 over the frame.
    """

    registration: Registration
    pattern: NDArray[np.float32]
    slopes: Mapping[str, tuple[float, float]]


def solve(
    log: FlightLog,
    links: Sequence[Link],
    blocks: Callable[[str], NDArray[np.float32]],
    *,
    fine: tuple[NDArray[np.float32], float],
    unit: str,
    settings: RegisterSettings | None = None,
) -> Registered:
    """Registration of one flight.

    Parameters
    ----------
    log : FlightLog
    links : sequence of Link
        All that were proven.
    blocks : callable
        Block means of a frame by name (`Description.blocks`); read a pair at a time.
    fine : (ndarray, float)
        What `estimate_fine_pattern` gave.
    unit : str
        Unit of the frames' values, for the record.
    settings : RegisterSettings, optional

    Returns
    -------
    Registered
    """
    settings = settings or RegisterSettings()
    names = [e.name for e in log.used]
    index = {name: i for i, name in enumerate(names)}
    kept, dropped = consistent_links(links, log.shape)
    taking_part = [x for x in kept if not x.tie.held_out]
    large = solve_large_scale(taking_part, index, log.shape, settings)
    scene = _SceneBlocks(blocks, large, index, log.shape, settings)
    middle, middle_sd = refine_pattern(taking_part, scene, scene.shape, settings) if kept else _nothing(scene.shape)
    levelled_links = [_relevelled(x, large, middle, index, log.shape, settings) for x in kept]
    ties = tuple(x.tie for x in levelled_links)
    weights = {(x.tie.a, x.tie.b): settings.crossing_weight for x in kept if x.crossing}
    levelled = solve_levels(names, ties, weights=weights)
    registration = Registration(
        flight=log.flight,
        unit=unit,
        ties=ties,
        levels=levelled.levels,
        agreement=agreement(levelled_links, levelled.levels),
        pattern_sd=float(np.hypot(fine[1], middle_sd)),
        notes=(*levelled.notes, *_tie_notes(levelled, kept, dropped)),
    )
    slopes = {n: (float(x), float(y)) for n, (x, y) in zip(names, large.slopes, strict=True)} if settings.slopes else {}
    return Registered(registration, _whole_pattern(fine[0], large, middle, settings), slopes)


def agreement(links: Sequence[Link], levels: Sequence[Level]) -> dict[str, float]:
    """Median and 95th percentile of the absolute difference of overlaps, before and after levelling.

    ``before_*`` and ``after_*`` are over neighbours in time that took part, ``held_out_*`` over neighbours that
    did not, ``crossing_*`` over passes that cross; a kind of pair that does not occur is left out.
    """
    offset = {x.frame: x.offset for x in levels}
    near = [x.tie for x in links if not x.tie.held_out and not x.crossing]
    kinds = {
        "before": [abs(t.level_difference) for t in near],
        "after": [_left(t, offset) for t in near],
        "held_out": [_left(x.tie, offset) for x in links if x.tie.held_out],
        "crossing": [_left(x.tie, offset) for x in links if x.crossing],
    }
    return {
        f"{kind}_{name}": float(np.percentile(values, share))
        for kind, values in kinds.items()
        for name, share in (("median", 50), ("p95", 95))
        if values
    }


def _left(tie: Tie, offset: Mapping[str, float]) -> float:
    return abs(tie.level_difference - offset[tie.a] + offset[tie.b])


def _nothing(shape: tuple[int, int]) -> tuple[NDArray[np.float32], float]:
    return np.zeros(shape, np.float32), 0.0


class _SceneBlocks:
    """Block means of frames with large-scale pattern, level and slope taken off."""

    def __init__(
        self,
        blocks: Callable[[str], NDArray[np.float32]],
        large: LargeScale,
        index: Mapping[str, int],
        frame: tuple[int, int],
        settings: RegisterSettings,
    ) -> None:
        self.shape = (frame[0] // settings.block_px, frame[1] // settings.block_px)
        self._blocks, self._large, self._index = blocks, large, index
        self._places = unit_places(_block_places(self.shape, settings.block_px), frame)
        table = polynomials(self._places, settings.pattern_degree)
        self._pattern = (table @ large.coefficients).reshape(self.shape)

    def __call__(self, name: str) -> NDArray[np.float32]:
        """The scene of one frame, shape (rows, columns) of the blocks."""
        i = self._index[name]
        level = self._large.levels[i] + (self._places @ self._large.slopes[i]).reshape(self.shape)
        return np.asarray(self._blocks(name) - self._pattern - level, dtype=np.float32)


def _block_places(shape: tuple[int, int], block: int) -> NDArray[np.float64]:
    """Middle of each block in px of the frame, shape (n, 2)."""
    row, column = (np.arange(n) * block + (block - 1) / 2.0 for n in shape)
    return np.stack([np.tile(column, shape[0]), np.repeat(row, shape[1])], axis=1)


def _relevelled(
    link: Link,
    large: LargeScale,
    middle: NDArray[np.float32],
    index: Mapping[str, int],
    shape: tuple[int, int],
    settings: RegisterSettings,
) -> Link:
    """The link with pattern and slopes taken off its cells, and its level difference from what is left."""
    smooth = cv2.blur(middle, (settings.cell_blocks, settings.cell_blocks))
    sides = []
    for name, places in ((link.tie.a, link.cells[:, :2]), (link.tie.b, link.cells[:, 2:4])):
        unit = unit_places(places.astype(np.float64), shape)
        fixed = polynomials(unit, settings.pattern_degree) @ large.coefficients + unit @ large.slopes[index[name]]
        sides.append(fixed + _sampled(smooth, places, settings.block_px))
    cells = link.cells.copy()
    cells[:, 4] -= sides[0] - sides[1]
    difference, sd = overlap_difference(cells[:, 4], cells[:, 5])
    return replace(link, tie=replace(link.tie, level_difference=difference, level_difference_sd=sd), cells=cells)


def _sampled(blocks: NDArray[np.float32], places: NDArray[np.float32], size: int) -> NDArray[np.float64]:
    """Block means at places in px of the frame."""
    column, row = ((places[:, k] - np.float32((size - 1) / 2.0)) / np.float32(size) for k in (0, 1))
    sampled = cv2.remap(blocks, column[None], row[None], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(sampled[0], dtype=np.float64)


def _whole_pattern(
    fine: NDArray[np.float32], large: LargeScale, middle: NDArray[np.float32], settings: RegisterSettings
) -> NDArray[np.float32]:
    """All scales together on the pixels of the frame, mean zero."""
    rows, columns = fine.shape
    row, column = np.divmod(np.arange(rows * columns, dtype=np.float64), columns)
    places = unit_places(np.stack([column, row], axis=1), (rows, columns))
    smooth = (polynomials(places, settings.pattern_degree) @ large.coefficients).reshape(rows, columns)
    whole = fine + smooth + _enlarged(middle, (rows, columns), settings.block_px)
    return np.asarray(whole - whole.mean(), dtype=np.float32)


def _enlarged(blocks: NDArray[np.float32], shape: tuple[int, int], size: int) -> NDArray[np.float32]:
    covered = (blocks.shape[1] * size, blocks.shape[0] * size)
    image = cv2.resize(blocks, covered, interpolation=cv2.INTER_LINEAR)
    missing = ((0, shape[0] - covered[1]), (0, shape[1] - covered[0]))
    return np.pad(image, missing, mode="edge")


def _tie_notes(levelled: Levelled, kept: Sequence[Link], dropped: Sequence[Link]) -> Iterator[str]:
    if kept:
        rms = float(np.median([x.tie.rms_px for x in kept]))
        tied = sum(x.tied for x in levelled.levels)
        yield (f"{len(kept)} ties join {tied} of {len(levelled.levels)} frames; median misfit of a tie {rms:.2f} px.")
    if dropped:
        yield f"{len(dropped)} ties were dropped: ways over other frames contradict them."
