"""The matrix of cameras and aircraft as a page to print: time in the air, or the reasons against it."""

from __future__ import annotations

from importlib.resources import files
from typing import Any, Final

from groundglow import __version__
from groundglow.paper.measures import Measures
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
    units = heading.measures
    return {
        "title": heading.title,
        "version": heading.version,
        "prepared_by": heading.prepared_by,
        "date": list(heading.date),
        "under": f"Useful minutes a battery in wind of {units.speed(matrix.wind)}, less the reserve and the way.",
        "aircraft": [{"name": a.name, "words": _aircraft(a, units)} for a in matrix.aircraft],
        "rows": [
            {
                "name": camera.name,
                "words": _camera(camera, units),
                "cells": [_cell(cell, units) for cell in row],
            }
            for camera, row in zip(matrix.cameras, matrix.cells, strict=True)
        ],
        "note": "Two figures are with the lightest and the heaviest lens that can be lifted.",
        "cautions": list(_CAUTIONS),
    }


def _aircraft(aircraft: Aircraft, measures: Measures) -> str:
    hovers = "hovers" if aircraft.hovers else f"no slower than {measures.speed(aircraft.speeds[0])}"
    return f"lifts {measures.mass(aircraft.payload)}, {hovers}; carries {', '.join(aircraft.mounts)}"


def _camera(camera: Camera, measures: Measures) -> str:
    lenses = ", ".join(f"{lens.focal_length * 1e3:.3g}" for lens in camera.lenses)
    return f"{measures.mass(camera.mass)} without lens, {camera.mount}; lenses {lenses} mm"


def _cell(cell: Cell, measures: Measures) -> dict[str, Any]:
    if cell.useful is None:
        against = "; ".join(f"{r.kind}: {measures.spoken(r.words)}" for r in cell.reasons)
        return {"goes": False, "time": "", "words": against}
    longest, shortest = (round(seconds / 60) for seconds in cell.useful)
    time = f"{longest} min" if longest == shortest else f"{shortest} to {longest} min"
    left = [lens for lens in cell.camera.lenses if lens.id not in cell.lenses]
    words = f"not with {', '.join(f'{lens.focal_length * 1e3:.3g} mm' for lens in left)}: too heavy" if left else ""
    return {"goes": True, "time": time, "words": words}
