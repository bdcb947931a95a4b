"""Which frames to tie: neighbours in time, and passes that cross the same ground. Grows with frames, not squares."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from groundglow.model.pose import pixel_to_plane
from groundglow.records.log import FlightLog, LogEntry
from groundglow.steps.register.expected import Expectation, Plane, expect, log_plane
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Candidate", "candidate_pairs"]

#: Nearest footprints that are looked at for crossings of one frame.
NEAREST = 96
#: A gap in the flight that parts two passes over the same ground.
PASS_GAP = 3


@dataclass(frozen=True)
class Candidate:
    """Two frames that may show the same ground: names, what poses expect, and what the tie would be for."""

    a: str
    b: str
    expected: Expectation | None = None
    held_out: bool = False
    crossing: bool = False


def candidate_pairs(
    log: FlightLog, plane: Plane | None = None, settings: RegisterSettings | None = None
) -> tuple[Candidate, ...]:
    """Pairs of frames worth matching, in a fixed order.

    Parameters
    ----------
    log : FlightLog
        Frames in use, in order of time.
    plane : tuple of four float, optional
        The ground, where the log itself does not know it (`fit_ground`). Without it and without poses only
        neighbours in time are proposed.
    settings : RegisterSettings, optional

    Returns
    -------
    tuple of Candidate
        Neighbours ``steps`` and ``held_out_steps`` apart, then for each frame the ``crossings`` best frames of each
        other pass over its ground.
    """
    settings = settings or RegisterSettings()
    plane = plane if plane is not None else log_plane(log)
    entries = log.used
    return (*_neighbours(log, plane, entries, settings), *_crossings(log, plane, entries, settings))


def _neighbours(
    log: FlightLog, plane: Plane | None, entries: Sequence[LogEntry], settings: RegisterSettings
) -> Iterator[Candidate]:
    steps = sorted({*settings.steps, *settings.held_out_steps})
    for i, a in enumerate(entries):
        for step in steps:
            if i + step < len(entries):
                b = entries[i + step]
                yield Candidate(a.name, b.name, expect(log, plane, a.pose, b.pose), step in settings.held_out_steps)


def _crossings(
    log: FlightLog, plane: Plane | None, entries: Sequence[LogEntry], settings: RegisterSettings
) -> Iterator[Candidate]:
    centres = _centres(log, plane, entries)
    known = np.flatnonzero(np.all(np.isfinite(centres), axis=1))
    if len(known) < 2:
        return
    _, near = cKDTree(centres[known]).query(centres[known], k=min(NEAREST, len(known)))
    seen: set[tuple[int, int]] = set()
    for i, others in zip(known, known[near], strict=True):
        for j in _partners(int(i), others, settings):
            pair = (min(int(i), j), max(int(i), j))
            a, b = (entries[k] for k in pair)
            expected = None if pair in seen else expect(log, plane, a.pose, b.pose)
            seen.add(pair)
            if expected and expected.overlap >= settings.least_overlap:
                yield Candidate(a.name, b.name, expected, crossing=True)


def _partners(i: int, others: NDArray[np.intp], settings: RegisterSettings) -> Iterator[int]:
    """Frames of other passes nearest to frame i, some from each pass; ``others`` are sorted by distance."""
    rank = {int(j): k for k, j in enumerate(others)}
    far = np.sort(others[np.abs(others - i) > max((*settings.steps, *settings.held_out_steps))])
    for one_pass in np.split(far, np.flatnonzero(np.diff(far) > PASS_GAP) + 1):
        nearest = sorted((int(j) for j in one_pass), key=rank.__getitem__)
        if nearest and not _goes_on(i, nearest[0], one_pass, settings):
            yield from nearest[: settings.crossings]


def _goes_on(i: int, best: int, one_pass: NDArray[np.intp], settings: RegisterSettings) -> bool:
    """Whether a run of partners is the frame's own pass, or its turn: it begins where tied neighbours end."""
    nearest = int(one_pass[np.argmin(np.abs(one_pass - i))])
    return best == nearest and abs(nearest - i) <= max((*settings.steps, *settings.held_out_steps)) + PASS_GAP


def _centres(log: FlightLog, plane: Plane | None, entries: Sequence[LogEntry]) -> NDArray[np.float64]:
    """Where the middle of each frame lies on the ground, shape (n, 3); NaN where unknown."""
    centres = np.full((len(entries), 3), np.nan)
    if plane is None or log.focal_px <= 0:
        return centres
    rows, columns = log.shape
    ground = (*plane[:3], -plane[3])
    for i, entry in enumerate(entries):
        if entry.pose is not None:
            camera = (entry.pose.position, entry.pose.rotation, log.focal_px, log.shape)
            centres[i] = pixel_to_plane((columns - 1) / 2, (rows - 1) / 2, *camera, ground)
    return centres
