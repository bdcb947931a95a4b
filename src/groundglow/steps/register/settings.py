"""What can be set about registering, with the values that are used unless told otherwise."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["RegisterSettings"]


@dataclass(frozen=True)
class RegisterSettings:
    """Settings of registering one flight.

    Parameters
    ----------
    pattern_frames : int
        At most so many frames, evenly spread over the flight, are read for the fine pattern.
    pattern_sigma_px : float
        Detail finer than this blur counts as fine pattern, px.
    pattern_degree : int
        Highest total degree of the polynomials that describe the large-scale pattern.
    pattern_pairs : int
        At most so many pairs, evenly spread, are compared pixel by pixel for the middle scales.
    features : int
        Features kept a frame.
    ratio : float
        A match must be nearer than this share of the distance to the next best one.
    tolerance_px : float
        Distance at which a match still agrees with a homography, px of the frame.
    least_inliers : int
        Matches that must agree before a tie is believed.
    steps : tuple of int
        Neighbours in time that are tied and take part in levelling.
    held_out_steps : tuple of int
        Neighbours in time that are tied and serve as a check only.
    crossings : int
        Ties sought from a frame to each other pass over the same ground.
    least_overlap : float
        Share of a frame that must lie within the other before a crossing is tried.
    block_px : int
        Overlaps are compared on means of square blocks of this size.
    cell_blocks : int
        Blocks along the side of a cell, whose median difference is one observation.
    crossing_weight : float
        Weight of a crossing in levelling, against 1 of neighbours in time: slow changes of the camera are
        shared by all crossings of two passes, so they must not count as independent.
    slopes : bool
        Also solve for a slope of level across each frame, along columns and along rows.
    """

    pattern_frames: int = 200
    pattern_sigma_px: float = 1.5
    pattern_degree: int = 4
    pattern_pairs: int = 400
    features: int = 1200
    ratio: float = 0.85
    tolerance_px: float = 2.0
    least_inliers: int = 20
    steps: tuple[int, ...] = (1, 2, 3, 5)
    held_out_steps: tuple[int, ...] = (4,)
    crossings: int = 2
    least_overlap: float = 0.3
    block_px: int = 4
    cell_blocks: int = 12
    crossing_weight: float = 0.1
    slopes: bool = False
