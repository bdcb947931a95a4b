"""What finding takes for granted, each figure with its reason."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FindSettings"]


@dataclass(frozen=True)
class FindSettings:
    """Limits of finding. A question's own ``sigmas`` and sizes win over the defaults here.

    Parameters
    ----------
    sigmas : float
        Least departure of a spot over the local noise and clutter. Below about 4 the texture of natural
        ground alone gives finds: a hectare holds some 100,000 places the size of a spot.
    area_sigmas : float
        Least departure of an area, over the smaller of the spreads within it and around it. The halves of
        a normal texture cut at its median are 2.7 apart by themselves.
    trial_share : float
        Share of those sigmas at which a single sight is kept for judging. A thing is found when the middle one
        of its strengths, over all frames that had its place in view, reaches the sigmas asked for.
    peak_share : float
        Share of those sigmas from which a place in the picture is looked at closely: the plain contrast may
        raise its strength.
    isolation : float
        A spot's departure from the *nearest in value* of the directions around it, as a share of its
        departure from their median. Along edges, corners and lines it falls to 0; a round spot has 1.
    clear_sigmas : float
        The same least departure, in sigmas: what an edge with noise on it does not reach.
    scale_step : float
        Ratio between neighbouring sizes that are tried: a spot between two loses under 3 % of its response.
    least_px, most_px : float
        Diameters tried when the question states no size: the blur of a lens makes a point about 2 px wide.
    area_least_share, area_most_share : float
        Of the frame, for areas of unstated size. What fills more than 3/4 of a frame is the background.
    reduced_px : int
        Longer side of the reduced picture on which areas are sought.
    elongation : float
        Longest over shortest extent of a spot.
    across_px : float
        How far from its predicted place a thing may appear in a neighbouring frame: ties agree to 1-2 px,
        centres of weak spots wander by 1-2 px more.
    untied_px : float
        The same where no tie joins the two frames and adjusted poses predict the place.
    tallest_m, most_parallax_px : float
        Height of things above the ground for which the shift between frames is allowed, and its limit.
    tallest_share : float
        The same as a share of the flying height when metres are unknown.
    seen_share : float
        Share of the frames that had its place in view in which a thing must have been seen.
    border_px : float
        Strip along the frame's border in which a thing need not be seen.
    height_sd_m : float
        Doubt of the height of a thing above the ground plane: it shifts places seen off the axis.
    """

    sigmas: float = 4.7
    area_sigmas: float = 5.0
    trial_share: float = 0.85
    peak_share: float = 0.65
    isolation: float = 0.4
    clear_sigmas: float = 2.2
    scale_step: float = 1.4142
    least_px: float = 2.0
    most_px: float = 40.0
    area_least_share: float = 0.01
    area_most_share: float = 0.75
    reduced_px: int = 160
    elongation: float = 3.0
    across_px: float = 4.0
    untied_px: float = 10.0
    tallest_m: float = 6.0
    most_parallax_px: float = 60.0
    tallest_share: float = 0.1
    seen_share: float = 0.4
    border_px: float = 10.0
    height_sd_m: float = 1.0
