"""Questions about the hour that a job's brief asks: each of its ``[[fit]]`` whose target is in a ready-made pair."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from groundglow.errors import InputError
from groundglow.frames.specs import read_brief
from groundglow.job.plan import rules_folder
from groundglow.records.brief import PlanQuestion
from groundglow.records.plan import Plan
from groundglow.steps.plan.asking import WindowAnswer, window_answer, window_ask
from groundglow.steps.plan.pairs import Pair, pair

__all__ = ["hour_of_plan", "windows_of_brief"]

_SAME: Final = (
    "date", "air_lowest", "air_highest", "humidity", "wind", "cloud", "load", "ground_height", "distance",
)  # fmt: skip


def windows_of_brief(path: Path, own: Mapping[str, Pair] | None = None) -> list[dict[str, Any]]:
    """Questions of a brief as `groundglow.steps.plan.asking.window_ask` reads them.

    Parameters
    ----------
    path : Path
        Folder of a job, or its ``brief.toml``.
    own : mapping of str to Pair, optional

    Raises
    ------
    InputError
        When no question of it has a target in a pair.
    """
    brief = read_brief(path / "brief.toml" if path.is_dir() else path)
    found, unknown = [], []
    for asked in brief.fit:
        try:
            of = pair(asked.target or "", own)
        except InputError:
            unknown.append(asked.target or asked.name)
            continue
        raw: dict[str, Any] = {n: v for n in _SAME if (v := getattr(asked, n))}
        if brief.site.lat_deg is not None and brief.site.lon_deg is not None:
            raw["place"] = (brief.site.lat_deg, brief.site.lon_deg)
        found.append({**raw, "pair": of.id, "of": asked.name, "zone": asked.zone})
    if not found:
        said = f" (there is no pair for {', '.join(unknown)})" if unknown else ""
        raise InputError(
            f"{path}: no [[fit]] of the brief names a target that stands in a ready-made pair{said}; "
            "`groundglow window` without a name lists the pairs."
        )
    return found


def _hour_asked(path: Path, plan: PlanQuestion) -> dict[str, Any] | None:
    try:
        dated = [raw for raw in windows_of_brief(path) if raw.get("date")]
    except InputError:
        dated = []
    if plan.target is not None:
        wanted = pair(plan.target).id
        found = next((raw for raw in dated if raw["pair"] == wanted), None)
        if found is None:
            raise InputError(
                f"{plan.name or 'plan'}: target {plan.target!r} is in no [[fit]] of the brief that has a date; add one."
            )
        return found
    own = [raw for raw in dated if (plan.name and raw["of"] == plan.name) or (plan.zone and raw["zone"] == plan.zone)]
    several = {raw["pair"] for raw in dated}
    return own[0] if own else dated[0] if len(several) == 1 else None


def hour_of_plan(path: Path, asked: PlanQuestion, plan: Plan) -> WindowAnswer | None:
    """The hour for a plan of a job: of the ``[[fit]]`` with its target, from the plan's height, at its place.

    A plan that names no target takes that of its zone or name, else the only one that is asked of with a date. None
    when there is none, or several: the card then leaves room.

    Raises
    ------
    InputError
        When the plan's target is in no pair, or in no ``[[fit]]`` with a date.
    """
    hour = _hour_asked(path, asked)
    if hour is None:
        return None
    longest = max((s.duration for s in plan.sorties), default=1800.0)
    here = {"place": (plan.origin.lat_deg, plan.origin.lon_deg), "distance": f"{plan.height:.1f} m"}
    root = path if path.is_dir() else path.parent
    return window_answer(window_ask({**hour, **here, "flight": f"{longest:.0f} s"}, rules=rules_folder(root)))
