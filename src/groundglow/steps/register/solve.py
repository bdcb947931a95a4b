"""From links to the registration of a flight: pattern, ties, levels and how well overlaps agree."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.records.log import FlightLog
from groundglow.records.tie import Level, Registration, Tie
from groundglow.steps.register.large import LargeScale, solve_large_scale
from groundglow.steps.register.levels import Levelled, centred, solve_levels
from groundglow.steps.register.link import Link
from groundglow.steps.register.loops import consistent_links
from groundglow.steps.register.middle import refine_pattern
from groundglow.steps.register.scene import Geometry, relevelled, scene_blocks, whole_pattern
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Registered", "agreement", "solve"]

#: Slopes are kept where they leave held-out pairs at most this share of the difference.
SLOPES_HELP = 0.8
#: Levels whose uncertainty exceeds this share of their spread are noted.
OPEN_SHARE = 0.5
OPEN_NOTE = (
    "Overlaps alone cannot tell a ramp of levels along the flight from a slope of the fixed pattern here (lines "
    "flown with the camera turned one way); the levels were kept small and their uncertainty holds the rest."
)


@dataclass(frozen=True)
class Registered:
    """A flight's registration and the arrays that go with it.

    Parameters
    ----------
    registration : Registration
    pattern : ndarray float32, shape (rows, columns)
        Fixed pattern of the flight, mean zero, unit of the values: subtract it from every frame.
    slopes : mapping of str to (float, float)
        By frame, what the level changes over half the width and half the height of the frame. Subtract
        ``offset + slope . place`` with the place -1..1 over the frame (`unit_places`). Empty where slopes were
        not asked for, or did not help pairs that took no part.
    """

    registration: Registration
    pattern: NDArray[np.float32]
    slopes: Mapping[str, tuple[float, float]]


def solve(
    log: FlightLog,
    links: Sequence[Link],
    blocks: Callable[[str], NDArray[np.float32]],
    *,
    fine: tuple[NDArray[np.float32], float],
    unit: str,
    settings: RegisterSettings | None = None,
) -> Registered:
    """Registration of one flight.

    Parameters
    ----------
    log : FlightLog
    links : sequence of Link
        All that were proven.
    blocks : callable
        Block means of a frame by name (`Description.blocks`); read a pair at a time.
    fine : (ndarray, float)
        What `estimate_fine_pattern` gave.
    unit : str
        Unit of the frames' values, for the record.
    settings : RegisterSettings, optional

    Returns
    -------
    Registered
    """
    names = [e.name for e in log.used]
    geometry = Geometry(log.shape, {n: i for i, n in enumerate(names)}, settings or RegisterSettings())
    kept, dropped = consistent_links(links, log.shape)
    large = _large_scale(kept, geometry)
    taking_part = [x for x in kept if not x.tie.held_out]
    scene = scene_blocks(blocks, large, geometry)
    middle, middle_sd = refine_pattern(taking_part, scene, geometry.blocks, geometry.settings)
    final = relevelled(kept, large, middle, geometry)
    levelled = _with_shared_errors(_levels(final, geometry), large, final)
    registration = Registration(
        flight=log.flight,
        unit=unit,
        ties=tuple(x.tie for x in final),
        levels=levelled.levels,
        agreement=agreement(final, levelled.levels),
        pattern_sd=float(np.hypot(fine[1], middle_sd)),
        notes=(*levelled.notes, *_tie_notes(levelled, kept, dropped)),
    )
    return Registered(registration, whole_pattern(fine[0], large, middle, geometry), _slopes(names, large))


def agreement(links: Sequence[Link], levels: Sequence[Level]) -> dict[str, float]:
    """Median and 95th percentile of the absolute difference of overlaps, before and after levelling.

    ``before_*`` and ``after_*`` are over neighbours in time that took part, ``held_out_*`` over neighbours that
    did not, ``crossing_*`` over passes that cross; a kind of pair that does not occur is left out.
    """
    offset = {x.frame: x.offset for x in levels}
    near = [x.tie for x in links if not x.tie.held_out and not x.crossing]
    kinds = {
        "before": [abs(t.level_difference) for t in near],
        "after": [_left(t, offset) for t in near],
        "held_out": [_left(x.tie, offset) for x in links if x.tie.held_out],
        "crossing": [_left(x.tie, offset) for x in links if x.crossing],
    }
    return {
        f"{kind}_{name}": float(np.percentile(values, share))
        for kind, values in kinds.items()
        for name, share in (("median", 50), ("p95", 95))
        if values
    }


def _left(tie: Tie, offset: Mapping[str, float]) -> float:
    return abs(tie.level_difference - offset[tie.a] + offset[tie.b])


def _large_scale(links: Sequence[Link], geometry: Geometry) -> LargeScale:
    """Pattern and levels; with slopes only where they make pairs agree better that took no part."""
    taking_part = [x for x in links if not x.tie.held_out]
    plain = replace(geometry, settings=replace(geometry.settings, slopes=False))
    flat = solve_large_scale(taking_part, geometry.index, geometry.shape, plain.settings)
    if not geometry.settings.slopes:
        return flat
    sloped = solve_large_scale(taking_part, geometry.index, geometry.shape, geometry.settings)
    checks = [_held_out_miss(links, x, geometry) for x in (flat, sloped)]
    return sloped if checks[1] < SLOPES_HELP * checks[0] else flat


def _held_out_miss(links: Sequence[Link], large: LargeScale, geometry: Geometry) -> float:
    """Root mean square difference of held-out pairs after levelling; zero without any."""
    middle = np.zeros(geometry.blocks, dtype=np.float32)
    final = relevelled(links, large, middle, geometry)
    offset = {x.frame: x.offset for x in _levels(final, geometry).levels}
    misses = [_left(x.tie, offset) for x in final if x.tie.held_out]
    return float(np.sqrt(np.mean(np.square(misses)))) if misses else 0.0


def _levels(links: Sequence[Link], geometry: Geometry) -> Levelled:
    weights = {(x.tie.a, x.tie.b): geometry.settings.crossing_weight for x in links if x.crossing}
    return solve_levels(list(geometry.index), [x.tie for x in links], weights=weights)


def _with_shared_errors(levelled: Levelled, large: LargeScale, links: Sequence[Link]) -> Levelled:
    """Levels whose standard uncertainty also holds what ties share, which their scatter cannot show.

    That is what an error of the pattern does to a level, and what a frame as a whole sees otherwise (angle,
    reflections, change across it): all its ties have that in common, so a level is known no better than a tie fits.
    """
    offset = {x.frame: x.offset for x in levelled.levels}
    misfit = np.mean([_left(x.tie, offset) ** 2 for x in links]) if links else 0.0
    shared = np.sum(centred(large.level_errors, levelled.groups) ** 2, axis=1) + misfit
    levels = tuple(
        replace(x, standard_uncertainty=float(np.sqrt(x.standard_uncertainty**2 + v))) if x.tied else x
        for x, v in zip(levelled.levels, shared, strict=True)
    )
    spread = float(np.std([x.offset for x in levels])) if levels else 0.0
    open_ramp = float(np.sqrt(np.mean(shared))) > OPEN_SHARE * spread > 0.0
    return replace(levelled, levels=levels, notes=(*levelled.notes, *([OPEN_NOTE] if open_ramp else [])))


def _slopes(names: Sequence[str], large: LargeScale) -> dict[str, tuple[float, float]]:
    if not large.slopes.any():
        return {}
    return {n: (float(x), float(y)) for n, (x, y) in zip(names, large.slopes, strict=True)}


def _tie_notes(levelled: Levelled, kept: Sequence[Link], dropped: Sequence[Link]) -> Iterator[str]:
    if kept:
        rms = float(np.median([x.tie.rms_px for x in kept]))
        tied = sum(x.tied for x in levelled.levels)
        yield f"{len(kept)} ties join {tied} of {len(levelled.levels)} frames; median misfit of a tie {rms:.2f} px."
    if dropped:
        yield f"{len(dropped)} ties were dropped: ways over other frames contradict them."
