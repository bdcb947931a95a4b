"""The table of bodies is sane in every row."""

from __future__ import annotations

import pytest

from groundglow.errors import InputError
from groundglow.model.ground import Ground, ground, grounds
from groundglow.model.ground.conduction import grid

ROWS = list(grounds().values())


@pytest.mark.parametrize("row", ROWS, ids=[row.name for row in ROWS])
def test_every_body_is_physical_and_says_its_source(row: Ground) -> None:
    """Conductivity, capacity, albedo and emissivity lie where nature has them."""
    for layer in row.layers:
        assert 0.02 <= layer.conductivity <= 600
        assert 1e4 <= layer.heat_capacity <= 4.3e6
        assert 1e-4 < layer.thickness <= 3
    assert 0 <= row.albedo < 1
    assert 0 < row.emissivity <= 1
    assert len(row.source) > 20
    assert grid(row.layers).depth.size < 120


def test_unknown_bodies_list_near_names() -> None:
    """A part of a name finds the bodies that hold it."""
    with pytest.raises(InputError, match="flat roof, bitumen on dry insulation"):
        ground("roof")
