"""From the pixels of a departure and of its surroundings to a measured candidate."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.doubt import combined, difference, mean_doubt, select
from groundglow.records.field import REASON_TEXT, Field, Reason
from groundglow.records.finding import Candidate
from groundglow.steps.find.outline import outline
from groundglow.steps.find.strength import plain_contrast, strength

__all__ = ["Region", "measured"]

Mask = NDArray[np.bool_]

#: A departure this wide or wider is measured without its border, which blur mixes with the surroundings.
WIDE_PX = 10.0
BORDER_PX = 2.0
#: Share of pixels without support from which the whole is not supported; one saturated pixel is enough.
MASKED_SHARE = 0.25


@dataclass(frozen=True)
class Region:
    """Where a departure lies in a frame: masks of a window whose first pixel is (top, left).

    ``scale`` is 1, or the full pixels a pixel of a reduced picture stands for (its outline only).
    """

    shape_kind: str
    sign: int
    part: Mask
    ring: Mask
    top: int
    left: int
    sigmas: float
    clutter: float

    @property
    def window(self) -> tuple[slice, slice]:
        """The window as an index into the frame."""
        rows, columns = self.part.shape
        return np.s_[self.top : self.top + rows, self.left : self.left + columns]


def measured(field: Field, picture: NDArray[np.float32], region: Region, frame: str) -> Candidate | None:
    """The candidate of a region: place, size, level, rise and their doubt.

    The rise is the mean over the core minus the median of the surroundings. Its uncertainty subtracts the
    signed sensitivities of the shared sources, and adds the local clutter at the size of the departure:
    what the surface would be without the departure is known no better than that.

    Parameters
    ----------
    field : Field
    picture : ndarray float32
        Values without holes, for pixels that lost theirs.
    region : Region
    frame : str

    Returns
    -------
    Candidate or None
        None when nothing of it or of its surroundings can be read.
    """
    known = np.isfinite(field.value[region.window])
    core = _core(region.part)
    inner, outer = core & known, region.ring & known
    if not outer.any():
        return None
    values = (field.value if inner.any() else picture)[region.window]
    mean = float(values[inner if inner.any() else core].mean(dtype=np.float64))
    background = float(np.median(field.value[region.window][outer]))
    rise_sd, value_sd = _doubt(field, region, inner if inner.any() else core, outer)
    part = picture[region.window][region.part]
    place = _centre(picture[region.window], background, region)
    return Candidate(
        frame=frame,
        shape_kind=region.shape_kind,
        sign=region.sign,
        column=place[0],
        row=place[1],
        box=_box(region),
        area_px=int(region.part.sum()),
        peak=float(part.max() if region.sign > 0 else part.min()),
        mean=mean,
        background=background,
        rise=mean - background,
        rise_sd=rise_sd,
        value_sd=value_sd,
        contrast_noise=_strength(field, picture, region, place),
        at_border=_at_border(region, field.value.shape),
        masked=_masked(field.mask[region.window][region.part]),
        outline=outline(region.part, region.left, region.top),
    )


def _strength(field: Field, picture: NDArray[np.float32], region: Region, place: tuple[float, float]) -> float:
    """Sigmas of an area's border as they are; of a spot weighed with its plain contrast."""
    if region.shape_kind != "spot":
        return region.sigmas
    noise = float(np.nanmedian(field.doubt.independent[region.window]))
    size = equivalent_diameter(int(region.part.sum()))
    return strength(region.sigmas, plain_contrast(picture, place, size, sign=region.sign, noise=noise))


def _core(part: Mask) -> Mask:
    if part.sum() < np.pi / 4 * WIDE_PX**2:
        return part
    deep = cv2.distanceTransform(np.pad(part, 1).astype(np.uint8), cv2.DIST_L2, 3)[1:-1, 1:-1] > BORDER_PX
    return deep if deep.sum() >= 9 else part


def _doubt(field: Field, region: Region, core: Mask, ring: Mask) -> tuple[float, float]:
    """Standard uncertainties of the rise and of the mean."""

    def of(mask: Mask) -> tuple[NDArray[np.intp], ...]:
        rows, columns = np.nonzero(mask)
        return rows + region.top, columns + region.left

    inside = mean_doubt(_finite(field, of(core)))
    rise = combined(difference(inside, mean_doubt(_finite(field, of(ring)))))
    return float(np.hypot(rise, region.clutter)), float(combined(inside))


def _finite(field: Field, where: tuple[NDArray[np.intp], ...]):  # type: ignore[no-untyped-def]
    return select(field.doubt, where)


def _centre(window: NDArray[np.float32], background: float, region: Region) -> tuple[float, float]:
    """Centre of a spot weighted by its departure, plain centroid of an area; (column, row)."""
    rows, columns = np.nonzero(region.part)
    weight = np.ones(rows.size)
    if region.shape_kind == "spot":
        weight = np.maximum(region.sign * (window[rows, columns] - background), 0.0) + 1e-9
    share = weight / weight.sum()
    return float(columns @ share) + region.left, float(rows @ share) + region.top


def _box(region: Region) -> tuple[int, int, int, int]:
    rows, columns = (np.nonzero(region.part.any(axis=k))[0] for k in (1, 0))
    top, left = int(rows[0]) + region.top, int(columns[0]) + region.left
    return left, top, int(columns[-1]) + 1 + region.left, int(rows[-1]) + 1 + region.top


def _at_border(region: Region, shape: tuple[int, ...]) -> bool:
    left, top, right, bottom = _box(region)
    return left <= 0 or top <= 0 or right >= shape[1] or bottom >= shape[0]


def _masked(reasons: NDArray[np.uint8]) -> str:
    """Why a departure is not supported: by one saturated pixel, or by a share of any other reason."""
    counts = np.bincount(reasons.ravel(), minlength=len(Reason))
    for reason in (Reason.SATURATED, Reason.OUT_OF_RANGE):
        if counts[reason]:
            return REASON_TEXT[reason]
    worst = int(np.argmax(counts[1:])) + 1
    return REASON_TEXT[Reason(worst)] if counts[worst] >= MASKED_SHARE * reasons.size else ""


def equivalent_diameter(area_px: float) -> float:
    """Diameter of the circle of the same area, px."""
    return sqrt(4 / np.pi * area_px)
