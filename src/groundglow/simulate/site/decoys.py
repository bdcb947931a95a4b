"""What looks like a fault and is none: warm junction boxes, soiling; shade and mirrored sky come by themselves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from groundglow.simulate.site.field import junction_box, soiling
from groundglow.simulate.site.parts import Feature, Surface

__all__ = ["Decoys", "make_decoys"]

_BOXES, _SOILED = 10, 6


@dataclass(frozen=True)
class Decoys:
    """Warm boxes and the modules they are on, soiled patches, names of all modules with either."""

    boxes: tuple[Feature, ...]
    soiled: tuple[Surface, ...]
    boxed: tuple[str, ...]
    modules: frozenset[str]


def make_decoys(modules: tuple[Surface, ...], rng: np.random.Generator) -> Decoys:
    """Boxes of 2.5 to 4 K and soiled patches on modules drawn without replacement."""
    chosen = rng.choice(len(modules), _BOXES + _SOILED, replace=False)
    boxed, dirty = chosen[:_BOXES], chosen[_BOXES:]
    boxes = tuple(junction_box(modules[k], float(rng.uniform(2.5, 4.0))) for k in boxed)
    soiled = tuple(soiling(modules[k], rng) for k in dirty)
    boxed_names = tuple(modules[k].name for k in boxed)
    return Decoys(boxes, soiled, boxed_names, frozenset(modules[k].name for k in chosen))
