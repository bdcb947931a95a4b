"""Limits of the air model by name."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.weather import LIMITS, checked


@pytest.mark.parametrize("name", sorted(LIMITS))
def test_a_value_below_or_above_its_limit_is_named_with_its_place(name: str) -> None:
    limit = LIMITS[name]
    for wrong in [limit.low - 0.01] + ([limit.high + 1.0] if np.isfinite(limit.high) else []):
        with pytest.raises(RangeError, match=rf"{name} out of range.*1 of 2 values, the first at index \(1,\)"):
            checked(name, [limit.low, wrong])


def test_limits_themselves_and_the_unknown_pass() -> None:
    limit = LIMITS["pressure"]
    assert np.isnan(checked("pressure", [limit.low, limit.high, np.nan])[2])
