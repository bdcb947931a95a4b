"""The whole invented site from a seed: surfaces in order of painting, zones, decoys."""

from __future__ import annotations

import numpy as np

from groundglow.simulate.site.decoys import Decoys, make_decoys
from groundglow.simulate.site.field import field_bounds, field_surfaces
from groundglow.simulate.site.grounds import PAD, ROOF, ground_surfaces, pond_outline
from groundglow.simulate.site.parts import Outline, Site, rectangle
from groundglow.simulate.site.yard import YARD, yard_surfaces

__all__ = ["NAME", "ORIGIN", "build_site"]

NAME = "Sallowmere solar field (invented)"
#: Longitude, latitude, height of the ground above sea level: open grassland, deg and m.
ORIGIN = (20.93, 47.31, 84.0)


def _zones() -> dict[str, tuple[str, Outline]]:
    """Zone name to what it is made of and its outline as a client's plan shows it."""
    west, south, east, north = field_bounds()
    return {
        "field": ("module", rectangle(west - 0.3, south - 0.3, east + 0.3, north + 0.3)),
        "yard": ("gravel", rectangle(*YARD)),
        "roof": ("roof", rectangle(*ROOF)),
        "pond": ("water", pond_outline()[::3]),
        "pad": ("gravel", rectangle(*PAD)),
    }


def build_site(rng: np.random.Generator) -> tuple[Site, Decoys]:
    """Site and decoys; the same generator state gives the same site."""
    surfaces = [*ground_surfaces(), *yard_surfaces(), *field_surfaces(rng)]
    modules = tuple(s for s in surfaces if s.kind == "module")
    decoys = make_decoys(modules, rng)
    site = Site((*surfaces, *decoys.soiled), _zones(), decoys.boxes)
    return site, decoys
