"""What kinds that look aside must show: points with the direction that they face."""

from __future__ import annotations

import math

import numpy as np
import shapely

from groundglow.errors import InputError
from groundglow.records.plan import Line
from groundglow.steps.plan.area import Drawn
from groundglow.steps.plan.aside import face_axes
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.camera import footprint_sides
from groundglow.steps.plan.legs import sampled
from groundglow.steps.plan.proof import POINTS_ACROSS, Patch

__all__ = ["patches_of"]


def patches_of(ask: PlanAsk, drawn: Drawn, lines: tuple[Line, ...]) -> list[Patch]:
    """Surfaces for `proof.proof_of_patches`."""
    cell = min(footprint_sides(ask.kit, drawn.height)) / POINTS_ACROSS
    every = tuple(range(len(lines)))
    if ask.kind == "face":
        return _faces(ask, cell, every)
    aims = shapely.get_coordinates(ask.shape) if ask.kind == "around" else _along(ask, cell)
    points = np.c_[aims, ask.ground.at(aims[:, 0], aims[:, 1])][None]
    return [Patch(points, _upwards(points), every, cell**2)]


def _along(ask: PlanAsk, cell: float) -> np.ndarray:
    return np.vstack([sampled(shapely.get_coordinates(p), cell)[0] for p in shapely.get_parts(ask.shape)])


def _upwards(points: np.ndarray) -> np.ndarray:
    """Wires and posts face whoever looks; their place on the ground is taken as level."""
    return np.broadcast_to(np.array([0.0, 0.0, 1.0]), points.shape).copy()


def _faces(ask: PlanAsk, cell: float, every: tuple[int, ...]) -> list[Patch]:
    face = ask.face
    if face is None:
        raise InputError(f"{ask.name}: a face needs its height.")
    made = []
    for part in shapely.get_parts(ask.shape):
        corners = shapely.get_coordinates(part)
        for foot in (corners[i : i + 2] for i in range(len(corners) - 1)):
            up, out = face_axes(face, math.atan2(*(foot[1] - foot[0])))
            rows = np.linspace(0.0, face.height, max(int(face.height / cell), 1) + 1)[1:-1]
            plane, along = sampled(foot, cell)
            plane = plane[(along > 1e-9) & (along < along[-1] - 1e-9)]
            floor = np.c_[plane, ask.ground.at(plane[:, 0], plane[:, 1]) + face.foot]
            points = floor[None] + rows[:, None, None] * up
            made.append(Patch(points, np.broadcast_to(out, points.shape).copy(), every, cell**2))
    return made
