"""Reference targets as a crew notes them: contact readings of two boards and of the pond, half of them withheld.

A board is smaller than the position is sure, so the crew notes the frame that shows it nearest to the middle, and
the pixel, as it is seen in the frame. The probes in the pond are noted by their place.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from groundglow.frames.clock import iso_text
from groundglow.frames.places import LocalPlane
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.simulate.flight.limit import where_seen
from groundglow.simulate.flight.path import Shot
from groundglow.simulate.job_files import PLACE
from groundglow.simulate.site.grounds import BOARDS
from groundglow.simulate.site.kinds import KINDS
from groundglow.simulate.site.paint import Scene

__all__ = ["PROBES", "references"]

#: Name, east, north of the probes that float in the pond, m.
PROBES = (("pond probe A", -18.0, -18.0), ("pond probe B", -20.5, -10.5))
#: Standard uncertainty of a contact reading, K.
_CONTACT_SD_K = 0.3
#: Half the side of what a reading stands for, m.
_HALF_M = 0.2


def references(scene: Scene, shots: Sequence[Shot], start: float) -> list[dict[str, str]]:
    """Rows of ``references.csv``: of each kind one target for use and one withheld.

    Parameters
    ----------
    scene : Scene
        The painted site, faults in it.
    shots : sequence of Shot
        True shots of the frames that were written.
    start : float
        When the contact readings were taken, s since 1970-01-01T00:00Z.
    """
    boards = [_row(scene, "board", place, start) | _seen(shots, place) for place in BOARDS]
    probes = [_row(scene, "water", place, start) | _seen([], place) for place in PROBES]
    return [row | {"use": use} for pair in (boards, probes) for row, use in zip(pair, ("use", "withhold"), strict=True)]


def _row(scene: Scene, kind: str, place: tuple[str, float, float], start: float) -> dict[str, str]:
    name, east, north = place
    lon, lat = LocalPlane(PLACE).to_geographic(east, north)
    around = np.array([[east - _HALF_M, north - _HALF_M], [east + _HALF_M, north + _HALF_M]])
    value = float(scene.temperature[scene.grid.window(around)].mean()) - ZERO_CELSIUS
    return {
        "name": name,
        "kind": kind,
        "material": KINDS[kind].material,
        "lon_deg": f"{float(lon):.7f}",
        "lat_deg": f"{float(lat):.7f}",
        "time_utc": iso_text(start),
        "value_c": f"{value:.2f}",
        "standard_uncertainty_k": f"{_CONTACT_SD_K:g}",
    }


def _seen(shots: Sequence[Shot], place: tuple[str, float, float]) -> dict[str, str]:
    """Frame and pixel at which a target is seen nearest to the middle; blank where no frame shows it."""
    best = where_seen(shots, np.array([*place[1:], 0.0]))[:1]
    found = [(f"{shot.name}.tif", str(round(column)), str(round(row))) for shot, column, row in best]
    return dict(zip(("frame", "x_px", "y_px"), found[0] if found else ("", "", ""), strict=True))
