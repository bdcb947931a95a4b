"""How do we fly? One item a question of the brief: the plan, and what pilots and maps read."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from groundglow.frames.specs import read_brief
from groundglow.frames.vectors import (
    HeightMode,
    Layer,
    write_csv,
    write_geojson,
    write_geopackage,
    write_gpx,
    write_kml,
)
from groundglow.job.fit import kit_file
from groundglow.job.folder import JobFolder
from groundglow.job.inputs import brief_of
from groundglow.job.ledger import Ledger
from groundglow.job.plan import plan_ask, plan_files
from groundglow.job.runner import Item
from groundglow.job.window import hour_of_plan
from groundglow.kit.fleet import fleet_with
from groundglow.records.plan import Plan
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.asking import WindowAnswer
from groundglow.steps.plan.card import card_html, card_of, card_pdf
from groundglow.steps.plan.layers import FRAME_COLUMNS, STYLES, features_of, frame_rows, gpx_of, waypoint_rows
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.plain import plain_plan

__all__ = ["CARD", "OUTPUTS", "plan_plan", "write_card", "write_files"]

#: What is written for each question.
OUTPUTS = ("plan-{}.json", "plan-{}.kml", "plan-{}.geojson", "plan-{}.gpx", "plan-{}.gpkg", "waypoints-{}.csv",
           "frames-{}.csv")  # fmt: skip
#: And for the pilot: the card, for paper and for a phone, and the map by itself.
CARD = ("card-{}.pdf", "card-{}.html", "map-{}.png")


def plan_plan(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """One item a question; none when the brief asks nothing of plan."""
    brief = brief_of(job)
    files, out = plan_files(job, brief), job.out / "plan"
    items = [
        Item("plan", f"{i + 1} {asked.name}".strip(), write_plan, {"root": job.root, "number": i}, inputs=files,
             outputs=tuple(out / name.format(i + 1) for name in (*OUTPUTS, *CARD)))
        for i, asked in enumerate(brief.plan)
    ]  # fmt: skip
    if items:
        yield items


def write_plan(*outputs: Path, root: Path, number: int) -> None:
    """Answer one question of the brief."""
    job = JobFolder(root)
    brief = read_brief(job.brief)
    ask = plan_ask(root, brief, number, fleet_with(kit_file(job)))
    plan = plan_of(ask)
    write_files(plan, outputs[: len(OUTPUTS)])
    write_card(plan, ask, hour_of_plan(job.brief, brief.plan[number], plan), outputs[len(OUTPUTS) :])


def write_card(plan: Plan, ask: PlanAsk, found: WindowAnswer | None, paths: tuple[Path, ...]) -> None:
    """Write the pilot's card into the files of `CARD`, in their order."""
    paper, phone, drawn = paths
    card = card_of(plan, ask.kit, found, recording=ask.recording)
    paper.write_bytes(card_pdf(card))
    phone.write_text(card_html(card), encoding="utf-8")
    drawn.write_bytes(card.pictures["map.png"])


def write_files(plan: Plan, paths: tuple[Path, ...]) -> None:
    """Write a plan into the files of `OUTPUTS`, in their order.

    Heights in KML, GeoPackage, GPX and the tables are above the reference of the terrain (sea level); where nobody said
    how high the ground is they are above the ground, KML says so and GPX, which cannot, has none. GeoJSON has them as
    properties alone, as its third coordinate would be above the ellipsoid.
    """
    answers, kml, geojson, gpx, package, waypoints, frames = paths
    answers.write_text(json.dumps(plain_plan(plan), sort_keys=True, indent=1, allow_nan=False))
    high = features_of(plan)
    above: HeightMode = "absolute" if plan.above_sea else "relativeToGround"
    write_kml(kml, high, STYLES, {"lines": above, "sorties": above})
    flat = features_of(plan, heights="none")
    write_geojson(geojson, [f for folder in flat.values() for f in folder])
    write_gpx(gpx, *gpx_of(plan))
    layers = [Layer(name.replace("-", "_"), features) for name, features in high.items() if features]
    write_geopackage(package, layers)
    write_csv(waypoints, waypoint_rows(plan))
    write_csv(frames, frame_rows(plan), FRAME_COLUMNS)
