"""The sun of the invented hour stands where an almanac says, and shadows fall away from it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pvlib
import pytest

from groundglow.simulate.site.build import ORIGIN
from groundglow.simulate.site.parts import Surface, rectangle
from groundglow.simulate.site.shade import SUN, SUN_AZIMUTH_DEG, SUN_ZENITH_DEG, shadow


def test_the_sun_stands_where_the_almanac_says() -> None:
    """Solar position by pvlib (NREL's algorithm, Reda & Andreas 2004) for the middle of the flights."""
    lon, lat, height = ORIGIN
    when = pd.DatetimeIndex(["2026-04-16T11:15:00Z"])
    known = pvlib.solarposition.get_solarposition(when, lat, lon, altitude=height)
    assert pytest.approx(float(known["apparent_zenith"].iloc[0]), abs=0.1) == SUN_ZENITH_DEG
    assert pytest.approx(float(known["azimuth"].iloc[0]), abs=0.2) == SUN_AZIMUTH_DEG


def test_a_post_throws_its_shadow_as_long_as_the_sun_is_low() -> None:
    """Length height x tan(zenith), away from the sun."""
    post = Surface("post", "mast", rectangle(-0.05, -0.05, 0.05, 0.05), plane=(4.0, 0.0, 0.0), casts=True)
    outline = shadow(post, 0.0)
    assert outline is not None
    tip = outline[np.argmax(np.hypot(*outline.T))]
    assert np.hypot(*tip) == pytest.approx(4.0 * np.tan(np.radians(SUN_ZENITH_DEG)), abs=0.1)
    assert np.dot(tip, SUN[:2]) < 0


def test_what_floats_leaves_the_ground_beneath_it_in_the_sun() -> None:
    """A high table's shadow is only as large as the table; a block's reaches to its foot."""
    table, block = (
        Surface("one", "tank", rectangle(0.0, 0.0, 1.0, 1.0), plane=(5.0, 0.0, 0.0), casts=True, floats=f)
        for f in (True, False)
    )
    floating, standing = shadow(table, 0.0), shadow(block, 0.0)
    assert floating is not None
    assert standing is not None
    assert floating[:, 1].min() > 1.0
    assert standing[:, 1].min() == pytest.approx(0.0, abs=1e-6)
