"""How far a reading is supported, and why: of worst reasons the first that holds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from groundglow.records.field import REASON_TEXT, Reason
from groundglow.records.finding import Support

__all__ = ["GRAZING", "PIXEL_RULE", "Ground", "support_of", "why_no_temperature"]

#: View angle beyond which emissivity is hardly known, rad: 60 degrees (common practice, no source).
GRAZING = float(np.deg2rad(60.0))
#: Pixels across a target: below the first only detected, below the second corrected (common practice, no source).
PIXEL_RULE = (3.0, 10.0)
#: Reasons that spoil a mean even where they hold for some of its pixels only.
SPOILING = (Reason.SATURATED, Reason.OUT_OF_RANGE, Reason.NO_SOLUTION)

Ground = tuple[Support, str]


def why_no_temperature(mask: NDArray[np.uint8]) -> str:
    """Reason why pixels with these masks give no temperature; empty where they do.

    Examples
    --------
    >>> why_no_temperature(np.array([0, 2, 0], np.uint8))
    "1 of 3 pixels saturated: the camera's count range ends here"
    >>> why_no_temperature(np.array([0, 1, 0], np.uint8))
    ''
    """
    for reason in SPOILING:
        count = int((mask == reason).sum())
        if count:
            return f"{count} of {mask.size} pixels {REASON_TEXT[reason]}"
    if (mask != Reason.GOOD).all():
        return f"all {mask.size} pixels: {REASON_TEXT[Reason(int(mask[0]))]}"
    return ""


def support_of(
    *,
    width: float,
    across: float | None,
    corrected: bool,
    half_width: float,
    accuracy: float | None,
    view_angle: float | None,
) -> Ground:
    """Support of a reading that has a temperature.

    Parameters
    ----------
    width : float
        Of the region, px.
    across : float or None
        Pixels across the stated target, infinite for a large one; None when its size was not said.
    corrected : bool
        Whether a correction for size was made.
    half_width : float
        Of the 95 % interval, K.
    accuracy : float or None
        Asked, K.
    view_angle : float or None
        rad.

    Examples
    --------
    >>> known = {"corrected": False, "half_width": 1.5, "view_angle": 0.0}
    >>> support_of(width=12.0, across=float("inf"), accuracy=2.0, **known)[0].value
    'supported'
    >>> support_of(width=1.0, across=None, accuracy=2.0, **known)[0].value
    'detected only'
    """
    if view_angle is not None and view_angle > GRAZING:
        return Support.NOT_SUPPORTED, f"grazing view, {np.rad2deg(view_angle):.0f} degrees from the normal"
    size = _by_size(width, across, corrected)
    if size is not None and size[0] is not Support.CORRECTED:
        return size
    if accuracy is not None and half_width > accuracy:
        return Support.NOT_SUPPORTED, f"interval +-{half_width:.1f} K is wider than the +-{accuracy:g} K asked for"
    within = "no accuracy was asked for" if accuracy is None else f"within the +-{accuracy:g} K asked for"
    return size or (Support.SUPPORTED, within)


def _by_size(width: float, across: float | None, corrected: bool) -> Ground | None:
    least, enough = PIXEL_RULE
    if across is None:
        if width >= enough:
            return None
        return Support.DETECTED_ONLY, f"target's size not said, region {width:.0f} px wide: may be a mixture"
    if across < least:
        return Support.DETECTED_ONLY, f"target {across:.1f} px across: under {least:.0f} x {least:.0f}"
    if across >= enough:
        return None
    if not corrected:
        return Support.NOT_SUPPORTED, f"target {across:.1f} px across: could not be corrected for size"
    return Support.CORRECTED, f"target {across:.1f} px across: under {enough:.0f} x {enough:.0f}"
