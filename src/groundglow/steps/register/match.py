"""Matches between the features of two frames, and the homography that a sufficient number agrees with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.register.expected import Expectation, grid_of, transfer
from groundglow.steps.register.features import Features
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Match", "match", "matched_places"]

#: A place lies within this many standard deviations of where poses expect it.
SEARCH = 3.0
#: A homography may change areas by this factor beyond what poses predict (or beyond none), at most.
SCALE_CHANGE = 2.5
#: Motion below this share of the tolerance over the whole frame is no motion: what stands still is the camera's.
STILL = 0.25
#: Relief puts true matches off one plane: so many tolerances still speak for a homography.
LOOSE = 2.0
#: Rounds of least squares on the matches that agree.
REFINEMENTS = 3
#: So many agreeing matches need no second search.
PLENTY = 80
#: A true pair agrees on more than LEAST + SHARE * matches (Brown and Lowe 2007, equation 13).
LEAST, SHARE = 8.0, 0.3


@dataclass(frozen=True)
class Match:
    """A verified homography from frame a to frame b: inliers and their root mean square distance, px."""

    homography: NDArray[np.float64]
    inliers: int
    rms_px: float


def match(
    a: Features,
    b: Features,
    shape: tuple[int, int],
    *,
    expected: Expectation | None = None,
    settings: RegisterSettings | None = None,
) -> Match | None:
    """The homography between two frames of one shape, or None when nothing is proven.

    Parameters
    ----------
    a, b : Features
    shape : tuple of int
        Rows and columns.
    expected : Expectation, optional
        What poses say; it guides the search among look-alikes, such as rows of equal modules.
    settings : RegisterSettings, optional

    Notes
    -----
    Nearest descriptors both ways within the ratio limit vote for a homography by a marginalising consensus; the
    homography then guides a second search without the ratio limit. Refused: too few agreeing matches, a
    mirrored or implausible change of scale, a place far from where poses expect it, and a scene that stands
    still in the frame although poses say nothing of hovering (a fixed pattern would).

    References
    ----------
    Barath et al., MAGSAC++, CVPR 2020; Brown and Lowe, Automatic panoramic image stitching using invariant
    features, IJCV 74 (2007), section 3.2.
    """
    settings = settings or RegisterSettings()
    if min(len(a.places), len(b.places)) < settings.least_inliers:
        return None
    likeness = a.descriptors.astype(np.float32) @ b.descriptors.astype(np.float32).T
    starts = (_vote(a, b, x, shape, settings) for x in _searches(a, b, likeness, expected))
    found = []
    for start in starts:
        if start is not None and _plausible(start.homography, shape, expected, settings):
            found.append(start)
            if start.inliers >= PLENTY:
                break
    if not found:
        return None
    best = max(found, key=lambda x: x.inliers)
    refined = _refine(a, b, likeness, best, settings)
    return refined if _plausible(refined.homography, shape, expected, settings) else None


def _searches(
    a: Features, b: Features, likeness: NDArray[np.float32], expected: Expectation | None
) -> Iterator[NDArray[np.float32]]:
    """Likeness of all features, then only of those near where poses expect them."""
    yield likeness
    if expected is not None:
        near = _near(a.places, b.places, _matrix(expected.homography), SEARCH * expected.sd_px)
        yield np.where(near, likeness, np.float32(-1.0))


def _matrix(homography: tuple[float, ...]) -> NDArray[np.float64]:
    return np.array(homography, dtype=np.float64).reshape(3, 3)


def _near(
    a: NDArray[np.float32], b: NDArray[np.float32], homography: NDArray[np.float64], radius: float
) -> NDArray[np.bool_]:
    """Which places of b lie within a radius of where each place of a is taken, shape (len(a), len(b))."""
    moved = transfer(homography, a.astype(np.float64)).astype(np.float32)
    ones = (np.ones((len(moved), 1), np.float32), np.ones((len(b), 1), np.float32))
    one = np.hstack([moved, (moved**2).sum(axis=1, keepdims=True), ones[0]])
    other = np.hstack([-2.0 * b, ones[1], (b**2).sum(axis=1, keepdims=True)])
    return np.asarray(one @ other.T < radius * radius)  # squared distance, as one matrix product


def _pairs(likeness: NDArray[np.float32], ratio: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Index pairs that are each other's nearest, clearly nearer than the next best."""
    one, other = _mutual(likeness)
    best = likeness[one, other]
    rest = likeness[one]
    rest[np.arange(len(one)), other] = -1.0
    distance, next_distance = (np.maximum(2.0 - 2.0 * x, 0.0) for x in (best, rest.max(axis=1, initial=-1.0)))
    keep = distance < ratio * ratio * next_distance
    return one[keep], other[keep]


def _mutual(likeness: NDArray[np.float32]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Index pairs that are each other's nearest."""
    rows = np.arange(len(likeness))
    first = np.argmax(likeness, axis=1)
    found = likeness[rows, first]
    keep = np.flatnonzero((found == likeness.max(axis=0)[first]) & (found > 0.0))
    once = np.sort(np.unique(first[keep], return_index=True)[1])  # of equals, the first
    return keep[once], first[keep[once]]


def _vote(
    a: Features, b: Features, likeness: NDArray[np.float32], shape: tuple[int, int], settings: RegisterSettings
) -> Match | None:
    one, other = (x.places[i] for x, i in zip((a, b), _pairs(likeness, settings.ratio), strict=True))
    found = _consensus(one, other, settings.tolerance_px)
    return found if found is not None and _proven(found, one, other, shape, settings) else None


def _proven(
    found: Match,
    a: NDArray[np.float32],
    b: NDArray[np.float32],
    shape: tuple[int, int],
    settings: RegisterSettings,
) -> bool:
    """Whether more matches agree, loosely, than a wrong homography would bring among those within the overlap."""
    moved = transfer(found.homography, a.astype(np.float64))
    rows, columns = shape
    within = np.all((moved >= 0) & (moved <= np.array([columns - 1, rows - 1])), axis=1)
    agreeing = np.linalg.norm(moved - b, axis=1) <= LOOSE * settings.tolerance_px
    return found.inliers >= settings.least_inliers and int(agreeing.sum()) > LEAST + SHARE * int(within.sum())


def _consensus(a: NDArray[np.float32], b: NDArray[np.float32], tolerance: float) -> Match | None:
    if len(a) < 8:
        return None
    cv2.setRNGSeed(1)
    homography, _ = cv2.findHomography(a, b, cv2.USAC_MAGSAC, tolerance, maxIters=3000, confidence=0.9999)
    return None if homography is None else _measured(a, b, homography, tolerance)


def _measured(
    a: NDArray[np.float32], b: NDArray[np.float32], homography: NDArray[np.float64], tolerance: float
) -> Match:
    distance = _distances(homography, a, b)
    inside = distance <= tolerance
    rms = float(np.sqrt(np.mean(distance[inside] ** 2))) if inside.any() else np.inf
    return Match(homography, int(inside.sum()), rms)


def _refine(a: Features, b: Features, likeness: NDArray[np.float32], first: Match, settings: RegisterSettings) -> Match:
    """Search again around the homography, where no look-alike can be mistaken; keep what agrees better."""
    near = _near(a.places, b.places, first.homography, 2.0 * settings.tolerance_px)
    one, other = _mutual(np.where(near, likeness, np.float32(-1.0)))
    best = first
    for _ in range(REFINEMENTS):
        off = _distances(best.homography, a.places[one], b.places[other])
        inside = off <= settings.tolerance_px
        homography, _ = cv2.findHomography(a.places[one][inside], b.places[other][inside], 0)
        if homography is None:
            return best
        again = _measured(a.places[one], b.places[other], homography, settings.tolerance_px)
        best = again if again.inliers >= best.inliers else best
    return best


def _distances(homography: NDArray[np.float64], a: NDArray[np.float32], b: NDArray[np.float32]) -> NDArray[np.float64]:
    return np.asarray(np.linalg.norm(transfer(homography, a.astype(np.float64)) - b, axis=1))


def _plausible(
    homography: NDArray[np.float64],
    shape: tuple[int, int],
    expected: Expectation | None,
    settings: RegisterSettings,
) -> bool:
    """Whether a camera in flight can have moved like this."""
    places = grid_of(shape)
    moved = transfer(homography, places)
    motion = np.linalg.norm(moved - places, axis=1)
    hovering = expected is not None and expected.motion_px <= expected.sd_px
    if not hovering and motion.mean() < STILL * settings.tolerance_px:
        return False
    usual = _areas(_matrix(expected.homography), shape) if expected else np.ones(1)
    change = _areas(homography, shape) / usual
    if not np.all((change > 1.0 / SCALE_CHANGE) & (change < SCALE_CHANGE)):
        return False
    if expected is None:
        return True
    off = np.linalg.norm(moved - transfer(_matrix(expected.homography), places), axis=1)
    return bool(np.median(off) <= 2.0 * SEARCH * expected.sd_px)


def _areas(homography: NDArray[np.float64], shape: tuple[int, int]) -> NDArray[np.float64]:
    """Local change of area, negative where mirrored, on places over the middle half of the frame."""
    rows, columns = shape
    middle = np.array([columns - 1, rows - 1]) / 2
    places = middle + (grid_of(shape, 3) - middle) / 2
    depth = places @ homography[2, :2] + homography[2, 2]
    return np.asarray(np.linalg.det(homography) / depth**3)


def matched_places(
    a: Features, b: Features, shape: tuple[int, int], settings: RegisterSettings
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Places (n, 2) of a and of b that are each other's clear nearest and agree on a homography loosely."""
    nothing = np.zeros((0, 2), np.float32)
    if min(len(a.places), len(b.places)) < settings.least_inliers:
        return nothing, nothing
    pairs = _pairs(a.descriptors.astype(np.float32) @ b.descriptors.astype(np.float32).T, settings.ratio)
    one, other = a.places[pairs[0]], b.places[pairs[1]]
    found = _consensus(one, other, 4.0 * settings.tolerance_px)
    if found is None or not _proven(found, one, other, shape, settings):
        return nothing, nothing
    inside = _distances(found.homography, one, other) <= 6.0 * settings.tolerance_px
    return one[inside], other[inside]
