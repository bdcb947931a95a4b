"""What to look for in one frame, in pixels: the brief's questions seen at that frame's ground sampling."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from groundglow.records.brief import Question
from groundglow.records.log import FlightLog
from groundglow.steps.find.settings import FindSettings

__all__ = ["Search", "ground_sampling", "searches", "sigmas_asked"]

SIGNS = {"hot": (1,), "cold": (-1,), "both": (1, -1)}


@dataclass(frozen=True)
class Search:
    """One question as it stands for one frame: diameters in px, least rise in the unit of the values."""

    question: str
    shape_kind: str
    signs: tuple[int, ...]
    smallest_px: float
    largest_px: float
    sigmas: float
    least_rise: float


def ground_sampling(log: FlightLog, frame: str) -> float | None:
    """Ground sampling distance on the axis of a frame, m per px; None without a pose or metres.

    Height above the ground along the line of sight over the focal length in px.
    """
    pose = log.entry(frame).pose
    if pose is None or log.metres_per_unit is None:
        return None
    return sight_distance(log, frame) / log.focal_px * log.metres_per_unit


def sight_distance(log: FlightLog, frame: str) -> float:
    """Distance from the camera to the ground along its axis, in the flight's unit (at most 5 heights)."""
    pose = log.entry(frame).pose
    if pose is None:
        return float("nan")
    a, b, c, d = log.ground_plane or (0.0, 0.0, 1.0, log.ground_height)
    height = abs(float(np.dot((a, b, c), pose.position)) - d)
    return height / max(abs(float(np.dot((a, b, c), pose.rotation[2]))), 0.2)


def searches(
    questions: Iterable[Question],
    settings: FindSettings,
    *,
    shape: tuple[int, int],
    metres_per_pixel: float | None,
    unit: str = "K",
) -> tuple[Search, ...]:
    """The questions in pixels of one frame.

    Parameters
    ----------
    questions : iterable of Question
    settings : FindSettings
    shape : (int, int)
        Rows, columns of the frame.
    metres_per_pixel : float or None
        From `ground_sampling`; None uses the ``*_px`` sizes or the defaults.
    unit : str
        ``least_rise_k`` is left out unless this is ``K``.

    Returns
    -------
    tuple of Search

    Examples
    --------
    >>> asked = Question(name="cell", smallest_m=0.15, largest_m=0.6, sign="hot")
    >>> s = searches([asked], FindSettings(), shape=(512, 640), metres_per_pixel=0.05)[0]
    >>> s.signs, round(s.smallest_px, 3), round(s.largest_px, 3)
    ((1,), 3.0, 12.0)
    """
    return tuple(_search(q, settings, shape, metres_per_pixel, unit) for q in questions)


def _search(q: Question, settings: FindSettings, shape: tuple[int, int], gsd: float | None, unit: str) -> Search:
    least, most = _default_sizes(q.looking_for, settings, shape)
    return Search(
        question=q.name,
        shape_kind=q.looking_for,
        signs=SIGNS[q.sign],
        smallest_px=_pixels(q.smallest_m, q.smallest_px, gsd, least),
        largest_px=_pixels(q.largest_m, q.largest_px, gsd, most),
        sigmas=sigmas_asked(q, settings),
        least_rise=q.least_rise_k if unit == "K" else 0.0,
    )


def sigmas_asked(question: Question, settings: FindSettings) -> float:
    """Least departure in sigmas of a question, or the default for its kind."""
    default = settings.sigmas if question.looking_for == "spot" else settings.area_sigmas
    return question.sigmas if question.sigmas is not None else default


def _pixels(metres: float | None, pixels: float | None, gsd: float | None, default: float) -> float:
    """A stated size in px; metres win where the ground sampling is known."""
    if metres is not None and gsd is not None:
        return metres / gsd
    return pixels if pixels is not None else default


def _default_sizes(kind: str, settings: FindSettings, shape: tuple[int, int]) -> tuple[float, float]:
    if kind == "spot":
        return settings.least_px, settings.most_px
    across = sqrt(4 / pi * shape[0] * shape[1])
    return across * sqrt(settings.area_least_share), across * sqrt(settings.area_most_share)
