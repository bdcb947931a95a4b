"""Painting: surfaces fill their outlines, features add their warmth, shadows cool."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.simulate.site.paint import paint_scene, stamp
from groundglow.simulate.site.parts import Feature, Grid, Site, Surface, rectangle
from groundglow.simulate.site.shade import SUN
from groundglow.simulate.site.texture import make_texture

BOUNDS = (-10.0, -10.0, 10.0, 10.0)


def painted_site(*more: Surface, step: float = 0.05) -> tuple[np.ndarray, np.ndarray, Grid]:
    """Index and temperature of grass with other surfaces on it."""
    site = Site((Surface("grass", "grass", rectangle(*BOUNDS)), *more), {})
    grid = Grid.spanning(BOUNDS, step)
    rng = np.random.default_rng(1)
    scene = paint_scene(site, grid, make_texture(rng, BOUNDS), rng)
    return scene.index, scene.temperature, grid


@pytest.mark.parametrize("step", [0.05, 0.02])
def test_a_surface_covers_its_area(step: float) -> None:
    """Cells times their size, for a rectangle exactly and for a circle nearly."""
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    circle = np.array([5.0, 5.0]) + 1.5 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    index, _, grid = painted_site(
        Surface("pad", "gravel", rectangle(-4.0, -3.0, -1.0, 1.0)), Surface("pond", "water", circle), step=step
    )
    assert (index == 1).sum() * grid.step**2 == pytest.approx(12.0, rel=1e-9)
    assert (index == 2).sum() * grid.step**2 == pytest.approx(np.pi * 1.5**2, rel=0.05)


def test_kinds_keep_their_mean_temperature() -> None:
    """Gravel at 31 C beside grass at 24 C, texture aside."""
    index, warm, _ = painted_site(Surface("pad", "gravel", rectangle(-8.0, -8.0, 8.0, 0.0)))
    assert warm[index == 1].mean() - 273.15 == pytest.approx(31.0, abs=0.6)
    assert warm[index == 0].mean() - 273.15 == pytest.approx(24.0, abs=0.6)


def test_shade_lies_away_from_the_sun_and_cools() -> None:
    """North of a wall, some kelvin below the grass to its south."""
    wall = Surface("wall", "tank", rectangle(-3.0, -0.5, 3.0, 0.5), plane=(3.0, 0.0, 0.0), casts=True)
    _, warm, grid = painted_site(wall)
    reach = 3.0 * SUN[1] / SUN[2]
    shaded, sunny = (warm[grid.window(rectangle(-2.0, y, 2.0, y + 0.5))].mean() for y in (0.5 - 0.7 * reach, -3.0))
    assert sunny - shaded == pytest.approx(5.0, abs=1.0)


@pytest.mark.parametrize(("form", "share"), [("disc", np.pi / 4), ("square", 1.0)])
def test_a_feature_adds_its_warmth_over_its_area(form: str, share: float) -> None:
    """The sum of what is added is warmth times area, at any grid."""
    for step in (0.025, 0.01):
        grid = Grid.spanning((-1.0, -1.0, 1.0, 1.0), step)
        plain = np.full(grid.shape, 300.0, dtype=np.float32)
        stamp(plain, grid, Feature(0.13, -0.21, (0.4, 0.4), 6.0, form=form, edge=0.03))
        assert plain.max() == pytest.approx(306.0, abs=1e-3)
        assert (plain - 300.0).sum() * step**2 == pytest.approx(6.0 * share * 0.4**2, rel=0.08)


def test_a_feature_beyond_the_grid_changes_nothing() -> None:
    """Such as a fault that the close pass does not reach."""
    grid = Grid.spanning((-1.0, -1.0, 1.0, 1.0), 0.05)
    plain = np.full(grid.shape, 300.0, dtype=np.float32)
    stamp(plain, grid, Feature(8.0, 8.0, (0.4, 0.4), 6.0))
    assert np.ptp(plain) == 0.0
