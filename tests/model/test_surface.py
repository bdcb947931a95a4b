"""The emissivity table is sane in every row, and the angular laws keep to physics."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.surface import (
    KINDS,
    Material,
    emissivity_at_angle,
    emissivity_uncertainty_at_angle,
    material,
    materials,
)

ROWS = list(materials().values())
EVERY = pytest.mark.parametrize("row", ROWS, ids=[row.name for row in ROWS])
DEGREES = np.radians(np.arange(0, 90, 1.0))


@EVERY
def test_every_row_is_physical_and_says_its_source(row: Material) -> None:
    """A slipped decimal, an empty source or an unknown kind cannot hide in the table."""
    for value in (row.emissivity, row.emissivity_7_5_13_5):
        assert 0.01 <= value <= 1
    assert 0.003 <= row.standard_uncertainty <= 0.2
    assert row.kind in KINDS
    assert row.status in ("measured", "published", "from memory")
    assert len(row.source) > 10
    assert ("memory" in row.source) >= (row.status == "from memory")
    assert bool(row.optical_constants) == (row.kind == "fresnel")


@EVERY
def test_emissivity_stays_a_share_at_every_angle(row: Material) -> None:
    """No angular law leaves 0..1, and at the normal each returns the table's figure."""
    values = emissivity_at_angle(row, DEGREES)
    assert np.all((values > 0) & (values <= 1))
    assert values[0] == pytest.approx(row.emissivity, abs=6e-5)


@EVERY
def test_doubt_grows_towards_grazing_view(row: Material) -> None:
    """From 0 to 89 degrees the stated doubt rises (a metal's peak apart) and never falls under the table's."""
    doubt = emissivity_uncertainty_at_angle(row, DEGREES)
    assert np.all(doubt >= row.standard_uncertainty - 1e-12)
    assert doubt[75] > doubt[0]
    if row.kind != "metal":
        assert np.all(np.diff(doubt) > -0.002)


def test_the_table_covers_what_flights_meet() -> None:
    """At least 60 materials, in all the groups that a survey needs."""
    assert len(ROWS) >= 60
    groups = {row.group for row in ROWS}
    wanted = {"bare metal", "oxidised metal", "painted", "concrete", "masonry", "roofing", "soil", "water"}
    wanted |= {"snow and ice", "vegetation", "people and animals", "glass", "polymer", "wood", "road", "stone"}
    assert wanted <= groups


def test_dielectrics_darken_and_metals_brighten_towards_grazing() -> None:
    """The two families of Fresnel's law go opposite ways up to 70 degrees."""
    to_70 = DEGREES[:71]
    for name in ("water", "paint, white", "concrete"):
        assert np.all(np.diff(emissivity_at_angle(material(name), to_70)) <= 1e-12)
    assert np.all(np.diff(emissivity_at_angle(material("aluminium, polished"), to_70)) >= 0)


def test_a_rough_surface_falls_less_than_a_smooth_one() -> None:
    """Roughness flattens the roll-off: same normal emissivity, rough above smooth at 75 degrees."""
    smooth, rough = material("paint, white"), material("soil, dry")
    drop = [float(np.diff(emissivity_at_angle(m, np.radians([0, 75])))[0]) for m in (smooth, rough)]
    assert drop[0] < drop[1] < 0


def test_a_surface_facing_away_has_no_emissivity() -> None:
    """Beyond 90 degrees the answer is NaN, for every law."""
    for name in ("water", "paint, white", "concrete", "steel, polished", "grass"):
        assert np.isnan(emissivity_at_angle(material(name), np.radians([95.0, -1.0]))).all()


def test_capitals_commas_and_word_order_do_not_matter() -> None:
    """People write "Dry sand" for "sand, dry"; no two rows share their words."""
    assert material("Dry sand") is materials()["sand, dry"]
    assert all(material(row.name) is row for row in ROWS)


def test_an_unknown_material_lists_near_names() -> None:
    """A misspelt or half-remembered name is answered with names to choose from."""
    with pytest.raises(InputError, match=r"Near names: .*aluminium, polished"):
        material("aluminum polished")
    with pytest.raises(InputError, match="human skin"):
        material("skin of a human")
    with pytest.raises(InputError, match="in the groups"):
        material("zzzzqq")


def test_a_band_that_the_table_lacks_is_refused() -> None:
    """3-5 um is not answered with a long-wave figure."""
    for name in ("water", "concrete"):
        with pytest.raises(InputError, match="3-5"):
            emissivity_at_angle(material(name), 0.0, band="3-5")


def test_the_table_cannot_be_changed_by_a_caller() -> None:
    """The mapping is shared by all callers and therefore read only."""
    with pytest.raises(TypeError):
        materials()["water"] = material("concrete")  # type: ignore[index]


def test_mirror_tells_what_reflects_like_one() -> None:
    """Glass and bare metal mirror a place in the sky; soil takes the whole hemisphere."""
    assert material("glass, soda-lime").mirror
    assert material("aluminium, polished").mirror
    assert not material("sand, dry").mirror
