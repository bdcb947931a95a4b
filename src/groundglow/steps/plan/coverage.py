"""How often a plan's frames show each part of the site: blocks of the proof, and the same as places for a map."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby
from typing import Final

from groundglow.frames.places import LocalPlane
from groundglow.frames.vectors import Feature
from groundglow.records.plan import Plan, Proof

__all__ = ["CLASSES", "Block", "blocks", "class_of", "coverage_features"]

#: Least frames of each class, and the class in words.
CLASSES: Final[tuple[tuple[int, str], ...]] = ((0, "unseen"), (1, "1"), (2, "2 to 4"), (5, "5 and more"))
#: Blocks along the longer side of a map.
MOST: Final = 80

#: West, south, east, north, m, and the least frames that show any point of it.
Block = tuple[float, float, float, float, int]


def class_of(frames: int) -> int:
    """Number of the class of so many frames.

    Examples
    --------
    >>> [class_of(n) for n in (0, 1, 4, 9)]
    [0, 1, 2, 3]
    """
    return max(i for i, (least, _) in enumerate(CLASSES) if frames >= least)


def blocks(proof: Proof, most: int) -> Iterator[Block]:
    """Cells of the proof, at most so many a side, row by row; a block shows the worst of what it stands for."""
    if not proof.counts.size:
        return
    every = max(1, math.ceil(max(proof.counts.shape) / most))
    rows, columns = proof.counts.shape
    for row in range(0, rows, every):
        for column in range(0, columns, every):
            part = proof.counts[row : row + every, column : column + every]
            inside = part[part >= 0]
            if inside.size * 2 >= part.size:
                x, y = proof.corner[0] + column * proof.step[0], proof.corner[1] + row * proof.step[1]
                far = x + (every - 0.5) * proof.step[0], y + (every - 0.5) * proof.step[1]
                yield x - 0.5 * proof.step[0], y - 0.5 * proof.step[1], *far, int(inside.min())


def coverage_features(plan: Plan) -> tuple[Feature, ...]:
    """Areas, or points for a line, a point or a face, each with ``seen``, its class of `CLASSES`, worst last."""
    proof = plan.proof
    if proof is None:
        return ()
    plane = LocalPlane(plan.origin)
    made = _points(proof, plane) if len(proof.places) else _areas(proof, plane)
    return tuple(sorted(made, key=lambda f: -int(f.properties["seen"] or 0)))


def _points(proof: Proof, plane: LocalPlane) -> Iterator[Feature]:
    lon, lat = plane.to_geographic(proof.places[:, 0], proof.places[:, 1])
    for x, y, count in zip(lon.tolist(), lat.tolist(), proof.counts.ravel().tolist(), strict=True):
        if count >= 0:
            yield Feature({"type": "Point", "coordinates": [x, y]}, {"seen": class_of(count), "frames": count})


def _areas(proof: Proof, plane: LocalPlane) -> Iterator[Feature]:
    """Blocks beside each other in a row that are of one class, as one."""
    rows = groupby(blocks(proof, MOST), key=lambda b: b[1])
    for _, row in rows:
        joined: list[Block] = []
        for block in row:
            last = joined[-1] if joined else None
            if last and math.isclose(last[2], block[0], abs_tol=1e-6) and class_of(last[4]) == class_of(block[4]):
                joined[-1] = (*last[:2], block[2], block[3], min(last[4], block[4]))
            else:
                joined.append(block)
        yield from (_area(block, plane) for block in joined)


def _area(block: Block, plane: LocalPlane) -> Feature:
    west, south, east, north, count = block
    corners = ((west, south), (east, south), (east, north), (west, north), (west, south))
    ring = [[float(v) for v in plane.to_geographic(x, y)] for x, y in corners]
    return Feature({"type": "Polygon", "coordinates": [ring]}, {"seen": class_of(count), "frames": count})
