"""Which camera goes under which aircraft: a matrix with the time in the air, or the reasons against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from groundglow.records.fit import Reason
from groundglow.records.kit import Aircraft, Camera, Combination
from groundglow.steps.fit.effort import endurance

__all__ = ["Cell", "Matrix", "kit_matrix"]


@dataclass(frozen=True)
class Cell:
    """A camera under an aircraft: useful s a battery with its lightest and heaviest lens, or the reasons against it.

    ``lenses`` names those that it can lift.
    """

    camera: Camera
    aircraft: Aircraft
    useful: tuple[float, float] | None
    lenses: tuple[str, ...]
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class Matrix:
    """Cells by camera (rows) and aircraft (columns), in wind of so many m/s."""

    cameras: tuple[Camera, ...]
    aircraft: tuple[Aircraft, ...]
    wind: float
    cells: tuple[tuple[Cell, ...], ...]


def kit_matrix(cameras: Sequence[Camera], aircraft: Sequence[Aircraft], *, wind: float = 3.0) -> Matrix:
    """The matrix of these cameras and aircraft.

    Parameters
    ----------
    wind : float
        m/s.
    """
    cells = tuple(tuple(_cell(c, a, wind) for a in aircraft) for c in cameras)
    return Matrix(tuple(cameras), tuple(aircraft), wind, cells)


def _cell(camera: Camera, aircraft: Aircraft, wind: float) -> Cell:
    kits = [Combination(camera, lens, aircraft) for lens in camera.lenses]
    lifted = [kit for kit in kits if kit.mass <= aircraft.payload]
    times = [endurance(aircraft, kit.mass, wind) for kit in lifted]
    reasons: list[Reason] = []
    if camera.mount not in aircraft.mounts:
        reasons.append(Reason("mount", f"needs a {camera.mount}"))
    if not lifted:
        lightest = min(kit.mass for kit in kits)
        reasons.append(Reason("payload", f"{lightest * 1e3:.0f} g, lifts {aircraft.payload * 1e3:.0f} g"))
    elif max(times) <= 0:
        reasons.append(Reason("endurance", "nothing left beside the reserve"))
    if wind > aircraft.wind_limit:
        reasons.append(Reason("wind", f"limit {aircraft.wind_limit:.0f} m/s"))
    useful = None if reasons or not times else (max(times), min(times))
    return Cell(camera, aircraft, useful, tuple(kit.lens.id for kit in lifted), tuple(reasons))
