"""The matrix of cameras and aircraft as a page to print: time in the air, or the reasons against it."""

from __future__ import annotations

from importlib.resources import files
from typing import Any, Final

from groundglow import __version__
from groundglow.paper.typeset import typeset
from groundglow.records.kit import Aircraft, Camera
from groundglow.steps.fit.matrix import Cell, Matrix
from groundglow.steps.fit.sheet import Heading

__all__ = ["matrix_contents", "matrix_sheet"]

TEMPLATE: Final = "matrix.typ"
HEADING: Final = Heading("Which camera goes under which aircraft", version=__version__)
_CAUTIONS: Final = (
    "Masses, mounts and times are those of the catalogue and of your kit file: weigh and try before you rely on them.",
    "Flying: local aviation rules and the maker's limits come first; the pilot decides.",
)


def matrix_sheet(matrix: Matrix, heading: Heading = HEADING) -> bytes:
    """A landscape PDF; the same matrix and heading give the same bytes.

    Raises
    ------
    GroundglowError
        When the typesetter refuses.
    """
    return typeset(files(__package__).joinpath(TEMPLATE), matrix_contents(matrix, heading), {})


def matrix_contents(matrix: Matrix, heading: Heading) -> dict[str, Any]:
    """Data for the template; JSON types only."""
    speed = heading.measures.speed(matrix.wind)
    return {
        "title": heading.title,
        "version": heading.version,
        "prepared_by": heading.prepared_by,
        "date": list(heading.date),
        "under": f"Useful minutes a battery in wind of {speed}, less the reserve and the way there and back.",
        "aircraft": [{"name": a.name, "words": _aircraft(a)} for a in matrix.aircraft],
        "rows": [
            {"name": camera.name, "words": _camera(camera), "cells": [_cell(cell) for cell in row]}
            for camera, row in zip(matrix.cameras, matrix.cells, strict=True)
        ],
        "note": "Two figures are with the lightest and the heaviest lens that can be lifted.",
        "cautions": list(_CAUTIONS),
    }


def _aircraft(aircraft: Aircraft) -> str:
    hovers = "hovers" if aircraft.hovers else f"no slower than {aircraft.speeds[0]:.0f} m/s"
    return f"lifts {aircraft.payload * 1e3:.0f} g, {hovers}; carries {', '.join(aircraft.mounts)}"


def _camera(camera: Camera) -> str:
    lenses = ", ".join(f"{lens.focal_length * 1e3:.3g}" for lens in camera.lenses)
    return f"{camera.mass * 1e3:.0f} g without lens, {camera.mount}; lenses {lenses} mm"


def _cell(cell: Cell) -> dict[str, Any]:
    if cell.useful is None:
        return {"goes": False, "time": "", "words": "; ".join(f"{r.kind}: {r.words}" for r in cell.reasons)}
    longest, shortest = (round(seconds / 60) for seconds in cell.useful)
    time = f"{longest} min" if longest == shortest else f"{shortest} to {longest} min"
    left = [lens for lens in cell.camera.lenses if lens.id not in cell.lenses]
    words = f"not with {', '.join(f'{lens.focal_length * 1e3:.3g} mm' for lens in left)}: too heavy" if left else ""
    return {"goes": True, "time": time, "words": words}
