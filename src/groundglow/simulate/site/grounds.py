"""The rest of the site: grass, track, gravel pad, a flat roof, a pond with an inflow, a mast, trees."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from groundglow.simulate.site.parts import Outline, Surface, rectangle
from groundglow.simulate.site.yard import disc

__all__ = ["BOARDS", "BOUNDS", "PAD", "ROOF", "ground_surfaces", "inflow_outline", "pond_outline", "wet_outline"]

#: West, south, east, north of the whole site, m.
BOUNDS = (-50.0, -45.0, 50.0, 45.0)
ROOF = (7.0, -26.0, 27.0, -9.0)
PAD = (-10.0, -24.0, 1.5, -4.0)
#: Black boards of known temperature: name, east, north.
BOARDS = (("board A", -3.0, -2.2), ("board B", 0.2, -2.2))
_TREES = ((30.5, -29.5, 4.2), (31.0, -5.0, 3.4), (-35.0, -7.5, 3.8))


def _blob(middle: tuple[float, float], radii: tuple[float, float], wave: tuple[float, ...]) -> Outline:
    """A closed curve: an ellipse whose radius swings; ``wave`` gives amplitude and phase by turns."""
    angle = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    swing = sum(a * np.cos(k * angle + p) for k, (a, p) in enumerate(zip(wave[::2], wave[1::2], strict=True), 2))
    ring = np.stack([radii[0] * np.cos(angle), radii[1] * np.sin(angle)], axis=1)
    return np.asarray(np.array(middle) + ring * np.reshape(1 + swing, (-1, 1)))


def pond_outline() -> Outline:
    """Shore of the pond."""
    return _blob((-22.5, -15.5), (9.5, 8.0), (0.08, 0.4, 0.05, 1.7, 0.03, 2.2))


def wet_outline() -> Outline:
    """The part of the roof with water under its membrane."""
    return _blob((19.5, -16.5), (2.6, 1.9), (0.14, 0.9, 0.10, 2.4, 0.06, 0.3))


def inflow_outline() -> Outline:
    """The warm plume at the western shore of the pond."""
    along = np.linspace(0.0, 1.0, 24)
    middle = np.stack([-30.2 + 6.5 * along, -13.0 - 1.6 * along**2], axis=1)
    half = 0.5 + 1.3 * np.sqrt(along) * (1 - 0.75 * along**4)
    across = np.stack([np.zeros_like(half), half], axis=1)
    return np.concatenate([middle - across, (middle + across)[::-1]])


def ground_surfaces() -> Iterator[Surface]:
    """Ground, track, pad and water first, then what stands on it."""
    yield Surface("grass", "grass", rectangle(*BOUNDS), zone="grass")
    yield Surface("track", "track", rectangle(2.6, BOUNDS[1], 5.6, BOUNDS[3]), zone="track")
    yield Surface("pad", "gravel", rectangle(*PAD), zone="pad")
    yield Surface("pond", "water", pond_outline(), plane=(-0.3, 0.0, 0.0), zone="pond")
    yield Surface("roof", "roof", rectangle(*ROOF), plane=(3.5, 0.0, 0.0), casts=True, zone="roof")
    for number, (east, north) in enumerate(((10.2, -12.0), (10.2, -22.5))):
        box = rectangle(east - 0.9, north - 0.7, east + 0.9, north + 0.7)
        yield Surface(f"roof box {number}", "box", box, plane=(4.3, 0.0, 0.0), casts=True, zone="roof")
    yield Surface("mast", "mast", disc(-32.7, 1.4, 0.25), plane=(9.0, 0.0, 0.0), casts=True, zone="grass")
    for name, east, north in BOARDS:
        yield Surface(name, "board", rectangle(east - 0.6, north - 0.6, east + 0.6, north + 0.6), zone="grass")
    for number, (east, north, width) in enumerate(_TREES):
        crown = disc(east, north, width)
        yield Surface(f"tree {number}", "tree", crown, plane=(4.5, 0.0, 0.0), casts=True, zone="grass")
