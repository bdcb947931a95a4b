"""What registering hands on: verified ties between frames, and the level of each frame."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

__all__ = ["Level", "Registration", "Tie"]


@dataclass(frozen=True)
class Tie:
    """Two frames that show the same ground.

    Parameters
    ----------
    a, b : str
        Frame names.
    homography : tuple of 9 float
        Row-major 3 x 3 matrix that takes pixel (column, row, 1) of ``a`` to pixel of ``b``; pixel
        centres have whole numbers.
    inliers : int
        Feature matches that agree with it.
    rms_px : float
        Root mean square distance of the inliers, px.
    overlap : float
        Share of frame ``a`` that falls within ``b``.
    level_difference : float
        Median of ``a - b`` over the overlap, pattern removed, counts or K.
    level_difference_sd : float
        Its standard uncertainty.
    held_out : bool
        True when the tie took no part in levelling and serves as a check.
    """

    a: str
    b: str
    homography: tuple[float, ...]
    inliers: int
    rms_px: float
    overlap: float
    level_difference: float
    level_difference_sd: float
    held_out: bool = False


@dataclass(frozen=True)
class Level:
    """What to subtract from a frame so that overlapping frames agree; unit of the frame's values."""

    frame: str
    offset: float
    standard_uncertainty: float
    tied: bool


@dataclass(frozen=True)
class Registration:
    """Ties and levels of one flight, and how well overlaps agree before and after.

    ``agreement`` maps names such as ``before_median``, ``after_p95``, ``held_out_median`` to numbers in
    the unit of the frame's values.
    """

    flight: str
    unit: str
    ties: tuple[Tie, ...]
    levels: tuple[Level, ...]
    agreement: dict[str, float]
    pattern_sd: float
    notes: tuple[str, ...]

    def level(self, frame: str) -> Level:
        """The level of one frame; zero with an unknown tie when it took no part."""
        found = (x for x in self.levels if x.frame == frame)
        return next(found, Level(frame, 0.0, 0.0, tied=False))

    def to_json(self) -> str:
        """Text form with a fixed order of keys."""
        return json.dumps(asdict(self), indent=1, sort_keys=True, allow_nan=False)

    @classmethod
    def from_json(cls, text: str) -> Registration:
        """The registration that `to_json` wrote."""
        raw = json.loads(text)
        raw["ties"] = tuple(Tie(**{**t, "homography": tuple(t["homography"])}) for t in raw["ties"])
        raw["levels"] = tuple(Level(**x) for x in raw["levels"])
        raw["notes"] = tuple(raw["notes"])
        return cls(**raw)
