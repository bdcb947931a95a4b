"""``groundglow plan``: options only; heavy imports wait inside."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

__all__ = ["plan"]

Text = str | None


def _option(help: str, *names: str, metavar: str | None = None) -> Any:
    return typer.Option(*names, help=help, metavar=metavar)


def plan(
    path: Annotated[
        Path, typer.Argument(metavar="JOB|SITE", help="Folder of a job with [[plan]], or a GeoJSON of what to fly.")
    ],
    out: Annotated[Path | None, _option("Write KML, GeoJSON, GPX, GeoPackage, CSV there.", metavar="DIR")] = None,
    kit: Annotated[Path | None, _option("A kit.toml of your own.", metavar="FILE")] = None,
    rules: Annotated[Path | None, _option("Folder with a flying.toml of your own.", metavar="DIR")] = None,
    camera: Annotated[Text, _option("Camera of the kit.", metavar="ID")] = None,
    lens: Annotated[Text, _option("Lens of the kit.", metavar="ID")] = None,
    aircraft: Annotated[Text, _option("Aircraft of the kit.", metavar="ID")] = None,
    sampling: Annotated[Text, _option("Length on the ground a pixel.", metavar="5cm")] = None,
    height: Annotated[Text, _option("Above ground, or from the face; instead of --sampling.", metavar="60m")] = None,
    forward: Annotated[Text, _option("Overlap of frames along a line.", "--forward-overlap", metavar="80%")] = None,
    side: Annotated[Text, _option("Overlap of neighbouring lines.", "--side-overlap", metavar="70%")] = None,
    hold: Annotated[Text, _option("Stop for so long at each frame.", metavar="0.5s")] = None,
    heading: Annotated[float | None, _option("Of the lines; else the best.", "--heading", metavar="DEG")] = None,
    terrain: Annotated[Text, _option("GeoTIFF of heights.", metavar="FILE")] = None,
    ground_height: Annotated[Text, _option("Of level ground above the sea; else --terrain.", metavar="84m")] = None,
    take_off: Annotated[Text, _option("Take-off point, degrees.", metavar="LAT,LON")] = None,
    wind: Annotated[Text, _option("Wind.", metavar="3m/s")] = None,
    wind_from: Annotated[float, _option("Where it blows from.", metavar="DEG")] = 0.0,
    highest: Annotated[float, _option("Greatest height above ground, m; local rules come first.")] = 120.0,
    flown_at: Annotated[Text, _option("Time, for the sun's glint.", metavar="TIME")] = None,
    sweep_width: Annotated[Text, _option("Search an area with this sweep width.", metavar="30m")] = None,
    probability: Annotated[Text, _option("Of detection, asked of a search.", metavar="90%")] = None,
    face_height: Annotated[Text, _option("Of the face whose foot the line is.", metavar="20m")] = None,
    face_tilt: Annotated[float, _option("Of the face from level; 90 upright.", metavar="DEG")] = 90.0,
    as_json: Annotated[bool, _option("Print the result as JSON, nothing else.", "--json")] = False,
    quiet: Annotated[bool, _option("Print nothing but errors.", "--quiet")] = False,
    debug: Annotated[bool, _option("Show the traceback of an error.", "--debug")] = False,
) -> int:
    """How do we fly? Lines, sorties and the proof that they cover the site. Exit code 1: the brief is not met."""
    from groundglow.cli.plan_run import run_plan

    return run_plan(dict(locals()))
