"""What kinds that look aside must show: points with the direction that they face."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely

from groundglow.errors import InputError
from groundglow.records.plan import Line
from groundglow.steps.plan.area import Drawn
from groundglow.steps.plan.aside import face_axes
from groundglow.steps.plan.ask import Face, PlanAsk
from groundglow.steps.plan.camera import footprint_sides
from groundglow.steps.plan.legs import sampled
from groundglow.steps.plan.proof import NARROW, Patch, fineness

__all__ = ["patches_of"]

Array = np.ndarray
UPWARDS: Final = np.array([0.0, 0.0, 1.0])


def patches_of(ask: PlanAsk, drawn: Drawn, lines: tuple[Line, ...]) -> list[Patch]:
    """Surfaces for `proof.proof_of_patches`."""
    footprint, every = footprint_sides(ask.kit, drawn.height), tuple(range(len(lines)))
    length = float(shapely.length(ask.shape))
    if ask.kind == "face":
        if ask.face is None:
            raise InputError(f"{ask.name}: a face needs its height.")
        narrow, area = min(ask.face.height, length), ask.face.height * length
        return _faces(ask, ask.face, fineness(footprint, narrow, area), every)
    cell = fineness(footprint, length or math.inf, length * min(footprint))
    aims = shapely.get_coordinates(ask.shape) if ask.kind == "around" else _along(ask, min(cell, length / NARROW))
    points = np.c_[aims, ask.ground.at(aims[:, 0], aims[:, 1])][None]
    # Wires and posts face whoever looks; their place on the ground is taken as level.
    return [Patch(points, np.broadcast_to(UPWARDS, points.shape).copy(), every, cell**2)]


def _along(ask: PlanAsk, cell: float) -> Array:
    return np.vstack([sampled(shapely.get_coordinates(p), cell)[0] for p in shapely.get_parts(ask.shape)])


def _faces(ask: PlanAsk, face: Face, cell: float, every: tuple[int, ...]) -> list[Patch]:
    made = []
    for part in shapely.get_parts(ask.shape):
        corners = shapely.get_coordinates(part)
        for foot in (corners[i : i + 2] for i in range(len(corners) - 1)):
            up, out = face_axes(face, math.atan2(*(foot[1] - foot[0])))
            length = float(np.linalg.norm(foot[1] - foot[0]))
            rows, along = _middles(face.height, cell), _middles(length, cell)
            plane = foot[0] + along[:, None] / length * (foot[1] - foot[0])
            floor = np.c_[plane, ask.ground.at(plane[:, 0], plane[:, 1]) + face.foot]
            points = floor[None] + rows[:, None, None] * up
            area = face.height * length / (len(rows) * len(along))
            made.append(Patch(points, np.broadcast_to(out, points.shape).copy(), every, area))
    return made


def _middles(length: float, cell: float) -> Array:
    """Middles of equal parts of a length, none longer than a cell."""
    count = max(math.ceil(length / cell - 1e-9), 1)
    return (np.arange(count) + 0.5) * length / count
