"""``groundglow fit``: options only; heavy imports wait inside."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

__all__ = ["fit"]

Text = str | None


def _option(help: str, *names: str, metavar: str | None = None) -> Any:
    return typer.Option(*names, help=help, metavar=metavar)


def fit(
    briefs: Annotated[
        list[Path] | None, typer.Argument(metavar="JOB", help="Folders of jobs, or brief.toml files with [[fit]].")
    ] = None,
    target: Annotated[Text, _option("A ready-made target, such as person or clamp.", metavar="NAME")] = None,
    length: Annotated[Text, _option("Of a target of your own.", metavar="0.5m")] = None,
    width: Annotated[Text, _option("Of a target of your own.", metavar="0.3m")] = None,
    height: Annotated[Text, _option("Of a target of your own; 0 m is flat.", metavar="1.7m")] = None,
    material: Annotated[Text, _option("What it is made of, by the table of materials.", metavar="NAME")] = None,
    background: Annotated[Text, _option("What it lies on or stands against.", metavar="NAME")] = None,
    rise: Annotated[Text, _option("Target over its surroundings.", metavar="5K")] = None,
    temperature: Annotated[Text, _option("Of the target.", metavar="40C")] = None,
    clutter: Annotated[Text, _option("Spread of the surroundings.", metavar="0.5K")] = None,
    task: Annotated[str, _option("detect, recognise, identify or measure.", metavar="TASK")] = "detect",
    probability: Annotated[Text, _option("Asked of a task of seeing.", metavar="90%")] = None,
    accuracy: Annotated[Text, _option("Asked of a measurement, half a 95 % interval.", metavar="2K")] = None,
    of: Annotated[Text, _option("What is measured.", metavar="rise|temperature")] = None,
    view: Annotated[Text, _option("From where it is seen.", metavar="above|side")] = None,
    distance: Annotated[Text, _option("Stand-off.", "--from", metavar="80m")] = None,
    nearest: Annotated[Text, _option("Least stand-off.", metavar="10m")] = None,
    highest: Annotated[Text, _option("Greatest stand-off.", metavar="120m")] = None,
    area: Annotated[Text, _option("Area to be covered.", metavar="5ha")] = None,
    along: Annotated[Text, _option("Length of a line to be followed.", metavar="3km")] = None,
    face: Annotated[Text, _option("Upright face to be covered.", metavar="30m,20m")] = None,
    place: Annotated[Text, _option("Latitude and longitude, degrees.", metavar="LAT,LON")] = None,
    date: Annotated[Text, _option("Day.", metavar="2026-06-21")] = None,
    hour: Annotated[int | None, _option("Hour of the local solar day, 0 to 23.", metavar="H")] = None,
    ground_height: Annotated[Text, _option("Of the site above sea level.", metavar="500m")] = None,
    air_lowest: Annotated[Text, _option("Coldest air of the day.", metavar="5C")] = None,
    air_highest: Annotated[Text, _option("Warmest air of the day.", metavar="15C")] = None,
    humidity: Annotated[Text, _option("Relative humidity of the mean air.", metavar="60%")] = None,
    wind: Annotated[Text, _option("Wind.", metavar="3m/s")] = None,
    cloud: Annotated[Text, _option("Share of the sky that is overcast.", metavar="30%")] = None,
    visibility: Annotated[Text, _option("Adds haze.", metavar="5km")] = None,
    rain: Annotated[bool, _option("It may rain.", "--rain")] = False,
    load: Annotated[Text, _option("Share of the full electrical load.", metavar="80%")] = None,
    speed: Annotated[Text, _option("Survey speed; else one that smears little.", metavar="5m/s")] = None,
    people_near: Annotated[bool, _option("People are near.", "--people-near")] = False,
    live_parts: Annotated[bool, _option("Live parts are near.", "--live-parts")] = False,
    budget: Annotated[float | None, _option("What it may cost, where prices are known.", metavar="SUM")] = None,
    frame_rate: Annotated[Text, _option("Highest frame rate that is asked for.", metavar="9Hz")] = None,
    recording: Annotated[Text, _option("How it has to record.", metavar="KIND")] = None,
    bought_in: Annotated[Text, _option("Place of use: from.", metavar="PLACE")] = None,
    used_in: Annotated[Text, _option("Place of use: to.", metavar="PLACE")] = None,
    end_user: Annotated[Text, _option("Place of use: by whom.", metavar="WHO")] = None,
    end_use: Annotated[Text, _option("Place of use: what for.", metavar="WHAT")] = None,
    temporary: Annotated[bool, _option("Place of use: carried there and back.", "--temporary")] = False,
    use_table: Annotated[Path | None, _option("Your own table of places of use.", metavar="FILE")] = None,
    kit: Annotated[Path | None, _option("A kit.toml of your own, on top of the catalogue.", metavar="FILE")] = None,
    camera: Annotated[Text, _option("Only this camera.", metavar="ID")] = None,
    lens: Annotated[Text, _option("Only this lens.", metavar="ID")] = None,
    aircraft: Annotated[Text, _option("Only this aircraft.", metavar="ID")] = None,
    check_kit: Annotated[Path | None, _option("Check a kit file and say every fault of it.", metavar="FILE")] = None,
    card: Annotated[bool, _option("Limits card of the kit named, or of those owned.", "--card")] = False,
    matrix: Annotated[bool, _option("Which camera goes under which aircraft.", "--matrix")] = False,
    sheet: Annotated[Path | None, _option("Write the sheet for a client there.", metavar="FILE.pdf")] = None,
    pictures: Annotated[Path | None, _option("Write views, charts, strips there.", metavar="FOLDER")] = None,
    units: Annotated[str, _option("Units that are shown.", metavar="m|ft")] = "m",
    top: Annotated[int, typer.Option(min=1, help="How many combinations are shown.", metavar="N")] = 8,
    as_json: Annotated[bool, _option("Print the result as JSON, nothing else.", "--json")] = False,
    quiet: Annotated[bool, _option("Print nothing but errors.", "--quiet")] = False,
    debug: Annotated[bool, _option("Show the traceback of an error.", "--debug")] = False,
) -> int:
    """Can it be seen? Choose the kit, and know why.

    Quantities are written with their unit: 80m, 260ft, 5K. Exit code 1: no combination serves.
    """
    given = dict(locals())
    from groundglow.cli.fit_run import run_fit

    return run_fit(given)
