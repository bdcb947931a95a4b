"""Which combinations are looked at: all of them, or those of a camera, lens or aircraft that was named."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from groundglow.errors import InputError
from groundglow.kit.figures import Faults
from groundglow.kit.fleet import Fleet
from groundglow.records.kit import Aircraft, Camera, Combination

__all__ = ["chosen_combinations"]


def chosen_combinations(
    fleet: Fleet, *, camera: str | None = None, lens: str | None = None, aircraft: str | None = None
) -> tuple[Combination, ...]:
    """Combinations of the fleet with these ids.

    A camera named without an aircraft is looked at by itself: what it sees, not what carries it.

    Raises
    ------
    InputError
        For an unknown id, with the nearest one; for a lens that does not fit the camera.

    Examples
    --------
    >>> from groundglow.kit.fleet import catalogue
    >>> [c.id for c in chosen_combinations(catalogue(), camera="demo-640")]
    ['demo-640 + l640-13']
    """
    for name, wanted, known in (
        ("camera", camera, fleet.cameras), ("lens", lens, fleet.lenses), ("aircraft", aircraft, fleet.aircraft)
    ):  # fmt: skip
        _known(name, wanted, known)
    cameras = [fleet.cameras[camera]] if camera else list(fleet.cameras.values())
    if camera and lens and lens not in {x.id for x in cameras[0].lenses}:
        fits = ", ".join(x.id for x in cameras[0].lenses)
        raise InputError(f"lens {lens!r} does not fit camera {camera!r}; it takes {fits}.")
    return tuple(c for one in cameras for c in _of_camera(one, lens, _aircraft(fleet, camera, aircraft)))


def _aircraft(fleet: Fleet, camera: str | None, aircraft: str | None) -> tuple[Aircraft | None, ...]:
    if aircraft:
        return (fleet.aircraft[aircraft],)
    return (None,) if camera else tuple(fleet.aircraft.values())


def _of_camera(camera: Camera, lens: str | None, aircraft: tuple[Aircraft | None, ...]) -> list[Combination]:
    return [Combination(camera, x, a) for x in camera.lenses if lens in (None, x.id) for a in aircraft]


def _known(name: str, wanted: str | None, known: Mapping[str, Any]) -> None:
    if wanted is not None and wanted not in known:
        faults = Faults(name)
        faults.unknown(wanted, wanted, known)
        raise InputError(f"{name} " + faults.lines[0].removeprefix(f"{name}: {wanted}: "))
