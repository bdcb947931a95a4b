"""From a peak to the pixels that belong to it: those above half of its departure, joined to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import ceil

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.find.region import Mask, Region
from groundglow.steps.find.settings import FindSettings
from groundglow.steps.find.spots import Peak

__all__ = ["spot_regions"]

#: How far a spot may reach from its peak, and where its surroundings end, in diameters of its scale.
REACH, AROUND, EDGE_PX = 1.5, 2.2, 1.5
#: Blur keeps the border of a spot this many px wide: surroundings are read beyond it.
GAP_PX = 2.0


def spot_regions(picture: NDArray[np.float32], peaks: Iterable[Peak], settings: FindSettings) -> Iterator[Region]:
    """Regions of peaks, strongest first; what is not compact is left out, and each spot comes once."""
    kept: list[Peak] = []
    for peak in peaks:
        if any(_same_place(peak, other) for other in kept):
            continue
        region = _region(picture, peak)
        if region is not None and _elongation(region.part) <= settings.elongation:
            kept.append(peak)
            yield region


def _same_place(a: Peak, b: Peak) -> bool:
    """Whether two peaks are one spot: a small spot upon a wider, weaker one stays a spot of its own."""
    small, large = sorted((a.diameter, b.diameter))
    reach = 0.75 * large if large < 2 * small else 0.5 * small
    return a.sign == b.sign and float(np.hypot(a.row - b.row, a.column - b.column)) < max(reach, 2.0)


def _region(picture: NDArray[np.float32], peak: Peak) -> Region | None:
    half = ceil(AROUND * peak.diameter + GAP_PX) + 2
    top, left = max(round(peak.row) - half, 0), max(round(peak.column) - half, 0)
    window = picture[top : round(peak.row) + half + 1, left : round(peak.column) + half + 1]
    signed = peak.sign * (window if peak.diameter < 6 else cv2.GaussianBlur(window, (0, 0), 1.0))
    away = _distance(window.shape, peak.row - top, peak.column - left)
    ring = (away > 0.5 * peak.diameter + GAP_PX) & (away <= half)
    part = _part(signed, away, peak.diameter, float(np.median(signed[ring])))
    if not part.any() or (away[part] > REACH * peak.diameter + EDGE_PX - 0.5).any():
        return None
    near = cv2.distanceTransform((~part).astype(np.uint8), cv2.DIST_L2, 3)
    ring = (near > GAP_PX) & (away <= half)
    return Region("spot", peak.sign, part, ring, top, left, peak.sigmas, peak.clutter) if ring.any() else None


def _distance(shape: tuple[int, ...], row: float, column: float) -> NDArray[np.float64]:
    rows, columns = np.ogrid[: shape[0], : shape[1]]
    return np.asarray(np.hypot(rows - row, columns - column))


def _part(signed: NDArray[np.float32], away: NDArray[np.float64], diameter: float, background: float) -> Mask:
    """Pixels above half of the departure that hang together with the peak, holes closed."""
    middle = away <= max(0.5 * diameter, 1.0)
    top = np.unravel_index(np.argmax(np.where(middle, signed, -np.inf)), signed.shape)
    level = (
        float(signed[middle & (away <= max(0.35 * diameter, 1.0))].max())
        if diameter < 6
        else float(np.median(signed[away <= 0.3 * diameter]))
    )
    above = (signed > 0.5 * (background + level)) & (away <= REACH * diameter + EDGE_PX)
    _, labels = cv2.connectedComponents(above.astype(np.uint8), connectivity=8)
    part = (labels == labels[top]) & above
    return _without_holes(part)


def _without_holes(part: Mask) -> Mask:
    """A mask with its enclosed holes closed."""
    outside, labels = cv2.connectedComponents(np.pad(~part, 1, constant_values=True).astype(np.uint8), connectivity=4)
    del outside
    return np.asarray(labels[1:-1, 1:-1] != labels[0, 0])


def _elongation(part: Mask) -> float:
    """Longest over shortest extent, from second moments; each pixel adds its own size."""
    rows, columns = np.nonzero(part)
    spread = np.cov(np.stack([rows, columns]), bias=True) + np.eye(2) / 12 if rows.size > 1 else np.eye(2)
    low, high = np.linalg.eigvalsh(spread)
    return float(np.sqrt(high / low))
