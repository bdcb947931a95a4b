"""What a wrong array is told: how many values, where the first is, what to do."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.limits import require, require_temperature


def test_message_counts_the_wrong_values_and_places_the_first():
    values = np.array([[0.9, 1.5], [2.0, 0.8]])
    with pytest.raises(RangeError, match=r"emissivity is 1\.5; .*2 of 4 values, the first at index \(0, 1\)") as found:
        require("emissivity", values, values <= 1, unit="", allowed="0 to 1", why="a share", hint="Look.")
    assert found.value.value == 1.5


def test_unknown_values_pass():
    values = np.array([np.nan, 0.5])
    require("emissivity", values, values <= 1, unit="", allowed="0 to 1", why="a share", hint="")


@pytest.mark.parametrize("value", [0.0, -5.0, np.inf])
def test_temperatures_at_or_below_absolute_zero_are_refused(value):
    with pytest.raises(RangeError, match=r"Add 273\.15"):
        require_temperature([300.0, value])


def test_a_single_wrong_temperature_is_told_without_an_index():
    with pytest.raises(RangeError) as found:
        require_temperature(-1.0, "air temperature")
    assert "index" not in str(found.value)
    assert "air temperature is -1.0 K" in str(found.value)
