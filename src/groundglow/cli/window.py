"""``groundglow window``: options only; heavy imports wait inside."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

__all__ = ["window"]

Text = str | None
Texts = list[str] | None


def _option(help: str, *names: str, metavar: str | None = None) -> Any:
    return typer.Option(*names, help=help, metavar=metavar)


def window(
    what: Annotated[
        Text, typer.Argument(metavar="PAIR|JOB", help="A ready-made pair, or a job; without one pairs are listed.")
    ] = None,
    place: Annotated[Text, _option("Latitude and longitude, degrees.", metavar="LAT,LON")] = None,
    date: Annotated[Text, _option("Day.", metavar="2026-06-21")] = None,
    air_lowest: Annotated[Text, _option("Coldest air of the day.", metavar="5C")] = None,
    air_highest: Annotated[Text, _option("Warmest air of the day.", metavar="15C")] = None,
    humidity: Annotated[Text, _option("Relative humidity of the mean air.", metavar="60%")] = None,
    wind: Annotated[Text, _option("Wind.", metavar="3m/s")] = None,
    cloud: Annotated[Text, _option("Share of the sky that is overcast.", metavar="30%")] = None,
    load: Annotated[Text, _option("Share of the full electrical load.", metavar="80%")] = None,
    weather: Annotated[Path | None, _option("A weather file instead of these.", metavar="FILE")] = None,
    ground_height: Annotated[Text, _option("Of the site above sea level.", metavar="500m")] = None,
    distance: Annotated[Text, _option("From camera to target.", "--from", metavar="60m")] = None,
    netd: Annotated[Text, _option("Noise of the camera.", metavar="0.05K")] = None,
    tilt: Annotated[float | None, _option("Of the surface from level, degrees.", metavar="DEG")] = None,
    azimuth: Annotated[float | None, _option("It faces, degrees from north.", metavar="DEG")] = None,
    flight: Annotated[Text, _option("Time in the air that a window must hold.", metavar="30min")] = None,
    hour: Annotated[float | None, _option("Local hour that levels are wanted for.", metavar="H")] = None,
    utc_offset: Annotated[float | None, _option("Local time less UTC; else by longitude.", metavar="H")] = None,
    no_night: Annotated[bool, _option("No flight beyond civil twilight.", "--no-night")] = False,
    rule: Annotated[Texts, _option("Another limit for a rule.", metavar="NAME=NUMBER")] = None,
    level: Annotated[Texts, _option("A level of your own over the background.", metavar="NAME=2K")] = None,
    pairs: Annotated[Path | None, _option("Pairs of your own.", metavar="FILE.toml")] = None,
    rules: Annotated[Path | None, _option("Folder with rules of your own, PAIR.toml.", metavar="DIR")] = None,
    chart: Annotated[Path | None, _option("Write the picture of the day there.", metavar="FILE.png")] = None,
    as_json: Annotated[bool, _option("Print the result as JSON, nothing else.", "--json")] = False,
    quiet: Annotated[bool, _option("Print nothing but errors.", "--quiet")] = False,
    debug: Annotated[bool, _option("Show the traceback of an error.", "--debug")] = False,
) -> int:
    """When do we fly? Contrast hour by hour, windows that keep the rules, levels to set.

    Quantities are written with their unit: 5C, 3m/s. Exit code 1: no window.
    """
    given = dict(locals())
    from groundglow.cli.window_run import run_window

    return run_window(given)
