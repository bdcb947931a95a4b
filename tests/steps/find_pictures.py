"""Invented pictures of which all is known: natural texture, discs, edges, lines; and their measured fields."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.doubt import Doubt
from groundglow.records.field import Field
from groundglow.records.finding import Candidate
from groundglow.steps.find import FindSettings, Search, candidates

Picture = NDArray[np.float32]

LEVEL = 290.0
NOISE = 0.05
#: Blur of lens and detector, one standard deviation, px.
BLUR = 0.7
FINE = 4


def texture(shape: tuple[int, int], seed: int, spread: float = 0.15) -> Picture:
    """Level ground: unevenness at several scales and the noise of each pixel, K."""
    rng = np.random.default_rng(seed)
    layers = [cv2.GaussianBlur(rng.normal(size=shape).astype(np.float32), (0, 0), s) for s in (1.5, 5.0, 20.0)]
    uneven = sum(spread / np.sqrt(3.0) * x / x.std() for x in layers)
    return np.asarray(LEVEL + uneven + rng.normal(0, NOISE, shape), np.float32)


def seen(shape: tuple[int, int], inside) -> Picture:  # type: ignore[no-untyped-def]
    """Share of each pixel that lies inside a shape, ``inside(column, row)``, after the blur of the lens."""
    rows, columns = ((np.arange(FINE * n) + 0.5) / FINE - 0.5 for n in shape)
    fine = inside(columns[None, :], rows[:, None]).astype(np.float32)
    whole = fine.reshape(shape[0], FINE, shape[1], FINE).mean(axis=(1, 3))
    return np.asarray(cv2.GaussianBlur(whole, (0, 0), BLUR, borderType=cv2.BORDER_REPLICATE), np.float32)


def disc(shape: tuple[int, int], column: float, row: float, diameter: float) -> Picture:
    """A round thing of rise one."""
    return seen(shape, lambda c, r: np.hypot(c - column, r - row) <= diameter / 2)


def field_of(value: Picture, mask: NDArray[np.uint8] | None = None, **sources: float | NDArray[np.float64]) -> Field:
    """A field in K with the noise of each pixel, and named sources that the flight shares."""
    flight = {name: np.asarray(s) for name, s in sources.items()}
    reasons = np.zeros(value.shape, np.uint8) if mask is None else mask
    return Field(value, Doubt(np.full(value.shape, NOISE), flight=flight), reasons, "surface_temperature", "K")


def spots(smallest: float, largest: float, signs: tuple[int, ...] = (1, -1), sigmas: float = 4.5) -> Search:
    """A search for spots by their diameters in px."""
    return Search("spot", "spot", signs, smallest, largest, sigmas, 0.0)


def found(value: Picture, search: Search, mask: NDArray[np.uint8] | None = None) -> tuple[Candidate, ...]:
    """Candidates that stand out as strongly as was asked."""
    some = candidates(field_of(value, mask), [search], FindSettings(), "f")
    return tuple(c for c in some if c.contrast_noise >= search.sigmas)
