"""The solar field: modules lie on their tables, cells and boxes on their modules, everything faces south."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.simulate.site.build import build_site
from groundglow.simulate.site.field import CELL_M, MODULES_A_ROW, ROWS, TILT_DEG, cell_place, field_bounds
from groundglow.simulate.site.parts import Site, Surface

Made = tuple[Site, tuple[Surface, ...]]


@pytest.fixture(scope="module")
def made() -> Made:
    """The site and its modules."""
    site, _ = build_site(np.random.default_rng(5))
    return site, site.named("module")


def test_rows_hold_two_tables_of_two_tiers(made: Made) -> None:
    """All modules, none twice."""
    names = {m.name for m in made[1]}
    assert len(names) == len(made[1]) == ROWS * 2 * 2 * MODULES_A_ROW


def test_modules_rise_to_the_north_by_their_tilt(made: Made) -> None:
    """The upper edge is higher by the length times the sine of the tilt; none touches the ground."""
    for module in made[1]:
        south, north = module.outline[:, 1].min(), module.outline[:, 1].max()
        rise = module.height(0.0, north) - module.height(0.0, south)
        assert rise / (north - south) == pytest.approx(np.tan(np.radians(TILT_DEG)))
        assert module.height(0.0, south) > 0.7


def test_cells_are_square_on_the_slope(made: Made) -> None:
    """The pitch along north is foreshortened by the cosine of the tilt; all cells lie within the module."""
    module = made[1][30]
    places = np.array([[cell_place(module, across, up) for across in range(6)] for up in range(9)])
    assert np.diff(places[..., 0], axis=1) == pytest.approx(CELL_M)
    assert np.diff(places[..., 1], axis=0) == pytest.approx(CELL_M * np.cos(np.radians(TILT_DEG)))
    low, high = module.outline.min(axis=0), module.outline.max(axis=0)
    assert (places > low).all()
    assert (places < high).all()


def test_boxes_and_soiling_lie_on_their_modules() -> None:
    """Within the outline of the module that is named."""
    site, decoys = build_site(np.random.default_rng(6))
    outlines = {s.name: s.outline for s in site.surfaces}
    for box, name in zip(decoys.boxes, decoys.boxed, strict=True):
        assert (box.box.min(axis=0) > outlines[name].min(axis=0)).all()
        assert (box.box.max(axis=0) < outlines[name].max(axis=0)).all()
        assert box.kelvin > 2.0
    for patch in decoys.soiled:
        module = outlines[patch.name.removeprefix("soiling on ")]
        assert (module.min(axis=0) < patch.centre).all()
        assert (patch.centre < module.max(axis=0)).all()


def test_the_field_keeps_clear_of_everything_else(made: Made) -> None:
    """No other zone of the plan reaches into it."""
    west, south, east, north = field_bounds()
    for name, (_, outline) in made[0].zones.items():
        low, high = outline.min(axis=0), outline.max(axis=0)
        apart = low[0] > east or high[0] < west or low[1] > north or high[1] < south
        assert apart or name == "field"
