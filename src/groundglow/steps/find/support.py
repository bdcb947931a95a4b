"""How far a reading of a departure is to be trusted, and why."""

from __future__ import annotations

from math import sqrt

from groundglow.model.doubt import COVERAGE_95
from groundglow.records.finding import Candidate, Support

__all__ = ["support"]

#: Pixels across a target for a reading without correction, and to be read at all (common practice, no source).
FULL_PX, LEAST_PX = 10, 3


def support(candidate: Candidate, unit: str, accuracy_k: float | None) -> tuple[Support, str]:
    """Support level of a candidate's temperature, and the reason in words.

    Parameters
    ----------
    candidate : Candidate
    unit : str
        ``K`` or ``counts``.
    accuracy_k : float or None
        Half-width of the 95 % interval that the question asks for.

    Examples
    --------
    >>> one = Candidate("f", "spot", 1, 5., 5., (4, 4, 6, 6), 4, 300., 299., 290., 9., 1., 1., 8., False, "", ())
    >>> support(one, "K", None)[0].value, support(one, "counts", None)[0].value
    ('detected only', 'not supported')
    """
    refused = _refused(candidate, unit)
    if refused:
        return Support.NOT_SUPPORTED, refused
    across = pixels_across(candidate)
    if across < LEAST_PX:
        return Support.DETECTED_ONLY, f"{across} px across: under {LEAST_PX} x {LEAST_PX} a reading means nothing"
    if across < FULL_PX:
        return (
            Support.DETECTED_ONLY,
            f"{across} px across: under {FULL_PX} x {FULL_PX} it reads too near its surroundings, "
            "and the correction for target size is not applied",
        )
    half = COVERAGE_95 * candidate.value_sd
    if accuracy_k is not None and half > accuracy_k:
        return Support.NOT_SUPPORTED, f"95 % interval is +-{half:.1f} K; asked +-{accuracy_k:g} K"
    asked = "no accuracy was asked" if accuracy_k is None else f"asked +-{accuracy_k:g} K"
    return Support.SUPPORTED, f"{across} px across; 95 % interval is +-{half:.1f} K, {asked}"


def _refused(candidate: Candidate, unit: str) -> str:
    if unit != "K":
        return "counts without calibration, relative only"
    if candidate.masked:
        return candidate.masked
    if candidate.shape_kind == "spot" and candidate.at_border:
        return "cut by the frame's border"
    return ""


def pixels_across(candidate: Candidate) -> int:
    """Whole pixels across the narrower way, no more than a square of the same area has."""
    left, top, right, bottom = candidate.box
    return int(min(right - left, bottom - top, round(sqrt(candidate.area_px))))
