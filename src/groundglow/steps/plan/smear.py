"""How much lag a reading bears: until its bias uses up a share of what the reading must be good to."""

from __future__ import annotations

from typing import Final

from groundglow.errors import InputError
from groundglow.model.pointspread import point_spread
from groundglow.model.targetsize import target_response
from groundglow.records.kit import Combination

__all__ = ["smear_within_budget"]

#: The greatest smear that is looked at, px.
MOST: Final = 3.0


def smear_within_budget(kit: Combination, size: float, rise: float, accuracy: float, share: float = 0.2) -> float:
    """Greatest movement of the picture in the detector's time constant, px.

    Parameters
    ----------
    kit : Combination
    size : float
        Of a square target in the picture, px.
    rise : float
        Of the target over its surroundings, K.
    accuracy : float
        What a reading of it must be good to, K.
    share : float
        Of that, which smear may use.

    Raises
    ------
    InputError
        For a size or accuracy of nothing.

    Notes
    -----
    The peak reading of a target that moves is lower than of one that stands, by the lag's part of the point spread;
    the greatest lag at which ``rise`` times that loss is ``share`` of ``accuracy``, to 0.01 px.
    """
    if not (size > 0 and accuracy > 0):
        raise InputError(f"size is {size} px and accuracy {accuracy} K; allowed above 0.")
    allowed, still = share * accuracy, _shown(kit, size, 0.0)

    def bias(smear: float) -> float:
        return abs(rise) * (still - _shown(kit, size, smear))

    if bias(MOST) <= allowed:
        return MOST
    low, high = 0.0, MOST
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if bias(middle) <= allowed else (low, middle)
    return max(low, 0.01)


def _shown(kit: Combination, size: float, smear: float) -> float:
    """Share of the rise in the peak pixel, mean over ways to lay the grid."""
    spread = point_spread(kit.camera.detector.pitch, kit.lens.f_number, aberration=kit.lens.aberration,
                          velocity=(0.0, smear), time_constant=1.0)  # fmt: skip
    return float(target_response(size, size, spread, shape="rectangle").share)
