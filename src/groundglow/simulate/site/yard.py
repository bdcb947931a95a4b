"""The transformer yard: gravel, two tanks with bushings, busbars with clamps, a fence of posts."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from groundglow.simulate.site.parts import Outline, Surface, rectangle

__all__ = ["YARD", "disc", "yard_surfaces"]

YARD = (7.0, 3.5, 27.0, 24.0)
_BUSBARS_Y = (6.5, 9.0, 11.5)
_TANKS = ((12.0, 17.5), (20.5, 17.5))
_CLAMPS_X = (10.0, 13.5, 17.0, 20.5, 24.0)


def disc(east: float, north: float, diameter: float, corners: int = 20) -> Outline:
    """A regular polygon in place of a circle."""
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    return np.array([east, north]) + 0.5 * diameter * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def _block(name: str, kind: str, outline: Outline, height: float) -> Surface:
    return Surface(name, kind, outline, plane=(height, 0.0, 0.0), casts=True, zone="yard")


def yard_surfaces() -> Iterator[Surface]:
    """All surfaces of the yard, from the ground up."""
    yield Surface("yard", "gravel", rectangle(*YARD), zone="yard")
    yield from _busbars()
    for number, (east, north) in enumerate(_TANKS):
        yield from _transformer(number, east, north)


def _transformer(number: int, east: float, north: float) -> Iterator[Surface]:
    plinth = rectangle(east - 2.4, north - 1.9, east + 2.4, north + 1.9)
    yield Surface(f"plinth {number}", "concrete", plinth, zone="yard")
    yield _block(f"tank {number}", "tank", rectangle(east - 1.7, north - 1.1, east + 1.7, north + 1.1), 2.2)
    for side, kind in ((-1.45, "radiator"), (1.3, "radiator")):
        fins = rectangle(east - 1.5, north + side - 0.2, east + 1.5, north + side + 0.2)
        yield _block(f"{kind} {number}{'sn'[side > 0]}", "tank", fins, 1.9)
    for phase in range(3):
        place = east + (phase - 1) * 1.1
        yield _block(f"bushing {number}-{phase}", "insulator", disc(place, north, 0.34), 2.9)


def _busbars() -> Iterator[Surface]:
    west, east = YARD[0] + 1.5, YARD[2] - 1.5
    for number, north in enumerate(_BUSBARS_Y):
        bar = rectangle(west, north - 0.09, east, north + 0.09)
        plane = (3.2, 0.0, 0.0)
        yield Surface(f"busbar {number}", "busbar", bar, plane=plane, casts=True, floats=True, zone="yard")
        for place in _CLAMPS_X:
            clamp = rectangle(place - 0.14, north - 0.14, place + 0.14, north + 0.14)
            name = f"clamp {number}-{place:g}"
            yield Surface(name, "clamp", clamp, plane=plane, floats=True, zone="yard")
