"""How do we fly? One item a question of the brief: the plan, and what pilots and maps read."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from groundglow.frames.vectors import Layer, write_csv, write_geojson, write_geopackage, write_gpx, write_kml
from groundglow.job.folder import JobFolder
from groundglow.job.inputs import brief_of
from groundglow.job.ledger import Ledger
from groundglow.job.plan import plan_files, plan_question
from groundglow.job.runner import Item
from groundglow.records.plan import Plan
from groundglow.steps.plan.layers import FRAME_COLUMNS, STYLES, features_of, frame_rows, gpx_of, waypoint_rows
from groundglow.steps.plan.plain import plain_plan

__all__ = ["OUTPUTS", "plan_plan", "write_files"]

#: What is written for each question.
OUTPUTS = ("plan-{}.json", "plan-{}.kml", "plan-{}.geojson", "plan-{}.gpx", "plan-{}.gpkg", "waypoints-{}.csv",
           "frames-{}.csv")  # fmt: skip


def plan_plan(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """One item a question; none when the brief asks nothing of plan."""
    brief = brief_of(job)
    files, out = plan_files(job, brief), job.out / "plan"
    items = [
        Item("plan", asked.name or f"question {i + 1}", write_plan, {"root": job.root, "number": i}, inputs=files,
             outputs=tuple(out / name.format(i + 1) for name in OUTPUTS))
        for i, asked in enumerate(brief.plan)
    ]  # fmt: skip
    if items:
        yield items


def write_plan(*outputs: Path, root: Path, number: int) -> None:
    """Answer one question of the brief."""
    write_files(plan_question(JobFolder(root), number), outputs)


def write_files(plan: Plan, paths: tuple[Path, ...]) -> None:
    """Write a plan into the files of `OUTPUTS`, in their order.

    Heights in KML, GeoPackage, GPX and the tables are above the reference of the terrain (sea level); GeoJSON has them
    as properties alone, as its third coordinate would be above the ellipsoid.
    """
    answers, kml, geojson, gpx, package, waypoints, frames = paths
    answers.write_text(json.dumps(plain_plan(plan), sort_keys=True, indent=1, allow_nan=False))
    high = features_of(plan)
    write_kml(kml, high, STYLES, {"lines": "absolute", "sorties": "absolute"})
    flat = features_of(plan, heights="none")
    write_geojson(geojson, [f for folder in flat.values() for f in folder])
    write_gpx(gpx, *gpx_of(plan))
    layers = [Layer(name.replace("-", "_"), features) for name, features in high.items() if features]
    write_geopackage(package, layers)
    write_csv(waypoints, waypoint_rows(plan))
    write_csv(frames, frame_rows(plan), FRAME_COLUMNS)
