"""Questions about one reading: ``read``, ``budget``, ``lesson``. Options only; heavy imports wait inside."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

__all__ = ["COMMANDS", "budget", "guarded", "lesson", "read"]

Number = float | None
Text = str | None
Texts = list[str] | None


def _option(help: str, *names: str, metavar: str | None = None) -> Any:
    return typer.Option(*names, help=help, metavar=metavar)


Point = Annotated[Texts, _option("A pixel.", metavar="[LABEL=]COLUMN,ROW")]
Json = Annotated[bool, _option("Print the result as JSON, nothing else.", "--json")]
Debug = Annotated[bool, _option("Show the traceback of an error.", "--debug")]

#: What `read` and `budget` both ask: of the scene, of what the numbers mean, of the camera.
SHARED: dict[str, Any] = {
    "emissivity": Annotated[Texts, _option("Emissivity, 0..1, of all or of one label.", metavar="[LABEL=]SHARE")],
    "material": Annotated[Texts, _option("Material of the table, of all or of one label.", metavar="[LABEL=]NAME")],
    "emissivity_sd": Annotated[Number, _option("Its standard uncertainty.")],
    "reflected": Annotated[Text, _option("Reflected apparent temperature, C; else the sky's.", metavar="C|sky")],
    "reflected_sd": Annotated[Number, _option("Its standard uncertainty, K.")],
    "air": Annotated[Number, _option("Air temperature, C.", metavar="C")],
    "air_sd": Annotated[Number, _option("Its standard uncertainty, K.")],
    "humidity": Annotated[Number, _option("Relative humidity, %.", metavar="%")],
    "humidity_sd": Annotated[Number, _option("Its standard uncertainty, %.")],
    "pressure": Annotated[Number, _option("Air pressure at the site, hPa.", metavar="HPA")],
    "cloud": Annotated[Number, _option("Share of the sky that is overcast, 0..1.", metavar="SHARE")],
    "cloud_sd": Annotated[Number, _option("Its standard uncertainty.")],
    "distance": Annotated[Number, _option("From camera to surface, m.", metavar="M")],
    "distance_sd": Annotated[Number, _option("Its standard uncertainty, m.")],
    "tilt": Annotated[Number, _option("Tilt of a surface seen from straight above, degrees.", metavar="DEG")],
    "view_angle": Annotated[Number, _option("Angle of sight to a level surface's normal, degrees.", metavar="DEG")],
    "values": Annotated[Text, _option("What the numbers of a frame by itself mean.", metavar="KIND")],
    "scale": Annotated[Number, _option("Quantity = scale x stored + offset.")],
    "offset": Annotated[Number, _option("See --scale.")],
    "unit": Annotated[Text, _option("Of the quantity: C, K, counts or W m-2 sr-1.")],
    "camera": Annotated[Text, _option("Camera of the catalogue.", metavar="ID")],
    "netd": Annotated[Number, _option("Noise-equivalent difference at 300 K, mK.", "--netd-mk")],
    "drift_sd": Annotated[Number, _option("Standard uncertainty of one frame's level, K.")],
    "pattern_sd": Annotated[Number, _option("Standard uncertainty of the fixed pattern, K.")],
    "calibration_sd": Annotated[Number, _option("Standard uncertainty of the calibration, K.")],
    "band": Annotated[Text, _option("Camera's band, um.", metavar="LOW-HIGH")],
}


def _flat(given: dict[str, Any]) -> dict[str, Any]:
    """Options by name, the shared ones among them."""
    return {**{name: value for name, value in given.items() if name != "shared"}, **given["shared"]}


def _sharing(command: Callable[..., int]) -> Callable[..., int]:
    """The command with the shared options in the place of its ``**shared``."""
    own = inspect.signature(command, eval_str=True)
    given = [p for p in own.parameters.values() if p.kind is not inspect.Parameter.VAR_KEYWORD]
    last = [p for p in given if p.name in ("as_json", "debug")]
    more = [inspect.Parameter(n, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=t) for n, t in SHARED.items()]
    first = [p for p in given if p not in last]
    keywords = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in last]

    @functools.wraps(command)
    def run(**options: Any) -> int:
        return command(**options)

    run.__signature__ = own.replace(parameters=[*first, *more, *keywords])  # type: ignore[attr-defined]
    return run


@_sharing
def read(
    frame: Annotated[Path, typer.Argument(metavar="FRAME", help="A frame's file.")],
    point: Point = None,
    region: Annotated[Texts, _option("A rectangle.", metavar="[LABEL=]LEFT,TOP,RIGHT,BOTTOM")] = None,
    disc: Annotated[Texts, _option("A disc.", metavar="[LABEL=]COLUMN,ROW,RADIUS")] = None,
    polygon: Annotated[Texts, _option("A polygon.", metavar="[LABEL=]C,R C,R C,R")] = None,
    profile: Annotated[Texts, _option("A line.", metavar="[LABEL=]C,R:C,R")] = None,
    csv: Annotated[Path | None, _option("Write the pixels of all lines there.", metavar="FILE")] = None,
    rise: Annotated[Texts, _option("How much A is warmer than B.", metavar="A:B")] = None,
    target_size: Annotated[Texts, _option("Size of the target, m, or large.", metavar="[LABEL=]M|large")] = None,
    accuracy: Annotated[Number, _option("Half width of the interval asked for, K.", metavar="K")] = None,
    pitch: Annotated[Number, _option("Pixel pitch, um.", "--pitch-um")] = None,
    focal: Annotated[Number, _option("Focal length, mm.", "--focal-mm")] = None,
    f_number: Annotated[Number, _option("Focal length over aperture.")] = None,
    as_json: Json = False,
    debug: Debug = False,
    **shared: Any,
) -> int:
    """How hot is it here, and how surely? Places of one frame.

    Points, regions and lines, each with its 95 % interval and how far it is supported. A frame in a flight's folder
    is read by its flight.toml and the visit's conditions.csv. What is not known gets a wide default, which is
    listed. Uncertainties are standard uncertainties.
    """
    given = _flat(locals())
    from groundglow.cli.ask_run import run_read

    return run_read(given)


@_sharing
def budget(
    frame: Annotated[Path | None, typer.Argument(metavar="FRAME", help="A frame's file, with --point.")] = None,
    point: Point = None,
    apparent: Annotated[Number, _option("What the camera showed at emissivity 1, C.", metavar="C")] = None,
    chart: Annotated[Path | None, _option("Draw it there as PNG.", metavar="FILE")] = None,
    as_json: Json = False,
    debug: Debug = False,
    **shared: Any,
) -> int:
    """Why is my temperature wrong? One reading, input by input.

    With what it would say under other inputs, and what to measure on site to halve its doubt. Either --apparent
    and what is known of the scene, or FRAME and one --point.
    """
    given = _flat(locals())
    from groundglow.cli.ask_run import run_budget

    return run_budget(given)


def lesson(
    name: Annotated[Text, typer.Argument(metavar="NAME", help="A lesson; without one they are listed.")] = None,
    change: Annotated[Texts, _option("Another value for the scene.", "--with", metavar="NAME=NUMBER")] = None,
    as_json: Json = False,
    debug: Debug = False,
) -> int:
    """Short lessons: two emissivities, skies, distances, sizes."""
    given = dict(locals())
    from groundglow.cli.ask_run import run_lesson

    return run_lesson(given)


#: Name of each command and what it does.
COMMANDS: dict[str, Callable[..., int]] = {"read": read, "budget": budget, "lesson": lesson}


def guarded(
    command: Callable[..., int], guard: Callable[[Callable[[], int | None], bool], None]
) -> Callable[..., None]:
    """The command with its errors shown as plain lines, its options kept."""

    @functools.wraps(command)
    def run(**given: Any) -> None:
        guard(lambda: command(**given), given["debug"])

    return run
