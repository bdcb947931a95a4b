"""No surface of the invented site is even: each has natural, correlated unevenness of 0.3 to 1 K."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.simulate.site.build import build_site
from groundglow.simulate.site.grounds import BOUNDS
from groundglow.simulate.site.kinds import KINDS
from groundglow.simulate.site.paint import Scene, paint_scene
from groundglow.simulate.site.parts import Grid
from groundglow.simulate.site.texture import grain, make_texture, sample


@pytest.fixture(scope="module")
def painted() -> Scene:
    """The whole site on a grid of 5 cm."""
    rng = np.random.default_rng(11)
    site, _ = build_site(rng)
    return paint_scene(site, Grid.spanning(BOUNDS, 0.05), make_texture(rng, BOUNDS), rng)


@pytest.mark.parametrize("name", ["grass", "track", "pad", "pond", "roof", "yard"])
def test_no_ground_is_even(painted: Scene, name: str) -> None:
    """Rms over patches of 1.2 m in the sun: some tenths of a kelvin, and neighbours 10 cm apart are alike."""
    number = [s.name for s in painted.site.surfaces].index(name)
    patches = [
        painted.temperature[r : r + 25, c : c + 25]
        for r in range(0, painted.grid.rows - 25, 25)
        for c in range(0, painted.grid.columns - 25, 25)
        if (painted.index[r : r + 25, c : c + 25] == number).mean() > 0.999
    ]
    calm = [p for p in patches if np.ptp(p) < 7.0]  # shadows are no texture
    rms = np.array([p.std() for p in calm])
    alike = np.mean([np.corrcoef(p[:, :-2].ravel(), p[:, 2:].ravel())[0, 1] for p in calm])
    assert np.median(rms) > 0.15
    assert np.median(rms) < 1.1
    assert alike > 0.25


def test_all_kinds_have_unevenness_between_a_third_and_one_kelvin() -> None:
    """Their layers add up in quadrature."""
    total = {name: float(np.hypot.reduce(kind.texture_k)) for name, kind in KINDS.items()}
    assert min(total.values()) >= 0.29
    assert max(total.values()) <= 1.0


def test_every_module_has_its_own_warmth(painted: Scene) -> None:
    """Means of modules differ by some tenths of a kelvin, and no module is even."""
    inner = [painted.temperature[painted.grid.window(m.outline, margin=-0.2)] for m in painted.site.named("module")]
    assert 0.2 < np.std([p.mean() for p in inner]) < 1.0
    assert min(p.std() for p in inner) > 0.08


def test_two_grids_see_the_same_texture() -> None:
    """A coarse and a fine grid agree where their cells coincide."""
    bounds = (0.0, 0.0, 12.0, 12.0)
    texture = make_texture(np.random.default_rng(2), bounds)
    fine = sample(texture, Grid.spanning(bounds, 0.01), 0)
    coarse = sample(texture, Grid.spanning(bounds, 0.03), 0)
    assert np.abs(fine[1::3, 1::3] - coarse).max() < 0.02


def test_grain_is_unit_noise() -> None:
    """Zero mean, rms one, and finer than the texture."""
    found = grain(np.random.default_rng(3), Grid(0.0, 0.0, 0.0075, 400, 500), 0.06)
    assert found.shape == (400, 500)
    assert found.std() == pytest.approx(1.0, rel=0.1)
