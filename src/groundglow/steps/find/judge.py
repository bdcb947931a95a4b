"""Is it on the ground? A thing seen again from other places is; what moves with the camera or by itself is not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.records.finding import Candidate
from groundglow.steps.find.group import Group, frame_corners, polygon
from groundglow.steps.find.region import equivalent_diameter
from groundglow.steps.find.sight import Sight

__all__ = ["Verdict", "frames_in_view", "judged"]

Array = NDArray[np.float64]

#: Recurring within this many px while the ground moved by at least that many: it moves with the camera.
SAME_PX, MOVED_PX = 6.0, 20.0
#: An area is in view of a frame that shows at least this part of its best sight.
AREA_SHARE = 0.5
#: Two outlines of an area are alike when they share at least this part of what either of them holds.
OUTLINE_SHARE = 0.4


@dataclass(frozen=True)
class Verdict:
    """Status of a group with its reason, and the frames that had its place in view."""

    status: str
    reason: str
    in_view: int


def frames_in_view(group: Group, sight: Sight, frames: Iterable[str]) -> frozenset[str]:
    """Frames that show a group's place well within their border, those that saw it included."""
    seen = {c.frame for c in group}
    test = _area_in_view if group[0].shape_kind == "area" else _spot_in_view
    return frozenset(seen | {f for f in frames if f not in seen and test(group, sight, f)})


def _spot_in_view(group: Group, sight: Sight, frame: str) -> bool:
    """Whether the nearest sight that leads to a frame puts the spot well within it."""
    margin = sight.settings.border_px + max(equivalent_diameter(c.area_px) for c in group)
    tied = [c for c in group if sight.tied(c.frame, frame)]
    for c in tied or group[:1]:
        there = sight.transfer(c.frame, frame, np.array([[c.column, c.row]]))
        if there is not None and not sight.inside(there, margin)[0]:
            return False
        if there is not None and tied:
            return True
    return not tied and there is not None


def _area_in_view(group: Group, sight: Sight, frame: str) -> bool:
    return _shown(max(group, key=lambda c: c.area_px), sight, frame) is not None


def _shown(area: Candidate, sight: Sight, frame: str) -> shapely.Geometry | None:
    """The part of an area's outline that another frame shows; None where that is less than half of it."""
    moved = sight.transfer(area.frame, frame, np.array(area.outline))
    if moved is None:
        return None
    rows, columns = sight.log.shape
    outline = polygon(moved)
    shown = outline.intersection(shapely.box(-0.5, -0.5, columns - 0.5, rows - 0.5))
    return shown if outline.area > 0 and shown.area >= AREA_SHARE * outline.area else None


def judged(
    group: Group, best: Candidate, sight: Sight, found: Mapping[str, Sequence[Candidate]], *, sigmas: float
) -> Verdict:
    """Whether a group is found, unconfirmed or dismissed, and why.

    Parameters
    ----------
    group : tuple of Candidate
        Sights of one thing.
    best : Candidate
        The one that stands for it.
    sight : Sight
    found : mapping of str to sequence of Candidate
        All candidates of all frames that were searched.
    sigmas : float
        Strength asked for.
    """
    view = frames_in_view(group, sight, found)
    seen, shown = len({c.frame for c in group}), len(view)
    if seen == 1:
        return Verdict(*_seen_once(group[0], sight, found, shown), shown)
    words = f"seen in {seen} of {shown} frames that had its place in view"
    alike, whole = _with_its_outline(group, best, sight) if best.shape_kind == "area" else (1, 1)
    if alike < sight.settings.seen_share * whole:
        return Verdict("unconfirmed", f"{words}, with a like outline in {alike} of {whole} that show it", shown)
    if seen < sight.settings.seen_share * shown:
        return Verdict("unconfirmed", words, shown)
    if _middle_strength(group, shown) < sigmas:
        return Verdict("unconfirmed", f"{words}, but in half of them with less than {sigmas:g} sigmas", shown)
    if group[0].shape_kind == "spot" and not _moved_through(group):
        return Verdict("unconfirmed", f"{words}, at one place of the picture: the camera did not move", shown)
    return Verdict("found", words, shown)


def _with_its_outline(group: Group, best: Candidate, sight: Sight) -> tuple[int, int]:
    """Of the frames that show most of an area's best outline: in how many a sight has much the same; and how many."""
    by_frame: dict[str, list[Candidate]] = {}
    for c in group:
        by_frame.setdefault(c.frame, []).append(c)
    alike = [_likeness(best, some, sight) for frame, some in by_frame.items() if frame != best.frame]
    known = [share for share in alike if share is not None]
    return 1 + sum(share >= OUTLINE_SHARE for share in known), 1 + len(known)


def _likeness(best: Candidate, others: Sequence[Candidate], sight: Sight) -> float | None:
    """Largest share of what either outline holds that both hold; None where the frame shows less than half of it."""
    frame = others[0].frame
    here, edge = _shown(best, sight, frame), sight.transfer(best.frame, frame, frame_corners(sight.log.shape))
    if here is None or edge is None:
        return None
    shared = polygon(edge)
    there = [polygon(c.outline).intersection(shared) for c in others]
    both = [here.intersection(t).area for t in there]
    return max(float(b / max(here.area + t.area - b, 1e-9)) for b, t in zip(both, there, strict=True))


def _middle_strength(group: Group, shown: int) -> float:
    """Median strength over the frames that had the place in view, none where a spot was not seen.

    An area that one frame does not cut out is not weak there: its border lies elsewhere, or at the frame's own.
    """
    strength: dict[str, float] = {}
    for c in group:
        strength[c.frame] = max(c.contrast_noise, strength.get(c.frame, 0.0))
    unseen = shown - len(strength) if group[0].shape_kind == "spot" else 0
    return float(np.median([*strength.values(), *[0.0] * unseen]))


def _seen_once(one: Candidate, sight: Sight, found: Mapping[str, Sequence[Candidate]], shown: int) -> tuple[str, str]:
    if shown == 1:
        return "unconfirmed", "seen in one frame; no other frame had its place in view"
    again = _with_the_camera(one, sight, found)
    if again:
        frames = "frame" if again == 1 else "frames"
        return "dismissed", f"moves with the camera: at the same pixels in {again} more {frames} over other ground"
    if shown == 2:
        return "unconfirmed", "seen in one of the two frames that had its place in view"
    return (
        "dismissed",
        f"not seen again in {shown - 1} other frames that had its place in view: moves with the camera or by itself",
    )


def _with_the_camera(one: Candidate, sight: Sight, found: Mapping[str, Sequence[Candidate]]) -> int:
    """Frames that show a like spot at the same pixels although the ground there is another."""
    if one.shape_kind != "spot":
        return 0
    here = np.array([[one.column, one.row]])
    count = 0
    for frame in sorted(found):
        like = [c for c in found[frame] if _same_pixels(one, c)]
        there = sight.transfer(one.frame, frame, here) if like and frame != one.frame else None
        count += there is not None and float(np.hypot(*(there - here)[0])) >= MOVED_PX
    return count


def _same_pixels(a: Candidate, b: Candidate) -> bool:
    near = np.hypot(a.column - b.column, a.row - b.row) <= SAME_PX
    return bool(near) and a.sign == b.sign and a.shape_kind == b.shape_kind


def _moved_through(group: Group) -> bool:
    """Whether the sights lie at different places of the picture."""
    places = np.array([(c.column, c.row) for c in group])
    return float(np.ptp(places, axis=0).max()) > SAME_PX
