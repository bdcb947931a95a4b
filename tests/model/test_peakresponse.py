"""The table of peak responses against the exact picture of one target."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.peakresponse import equivalent_diffraction, peak_response
from groundglow.model.pointspread import PointSpread
from groundglow.model.targetsize import target_response


def cases() -> list[tuple[float, float, float, float, float]]:
    """Side, ratio of sides, diffraction, lag, aberration, drawn between the nodes."""
    rng = np.random.default_rng(5)
    return [
        (
            float(np.exp(rng.uniform(np.log(0.5), np.log(30)))),
            float(rng.uniform(1, 3)),
            float(rng.uniform(0.5, 1.8)),
            float(rng.choice([0.0, rng.uniform(0, 1.5)])),
            float(rng.choice([0.0, 0.2])),
        )
        for _ in range(16)
    ]


@pytest.mark.parametrize(("side", "ratio", "diffraction", "lag", "aberration"), cases())
def test_the_table_is_within_two_hundredths_of_the_exact(
    side: float, ratio: float, diffraction: float, lag: float, aberration: float
) -> None:
    spread = PointSpread(diffraction=diffraction, aberration=aberration, lag=(0.0, lag))
    exact = target_response(side * ratio, side, spread, shape="rectangle")
    found = peak_response(side, side * ratio, equivalent_diffraction(diffraction, aberration), lag)
    assert float(found.share) == pytest.approx(exact.share, abs=0.03 if aberration else 0.02)
    assert float(found.sd) == pytest.approx(exact.sd, abs=0.01)


def test_a_point_shows_its_area_and_a_large_target_all_of_its_rise() -> None:
    """Far below a pixel the share goes with the area; far above, with the loss along the edge."""
    small = peak_response([0.05, 0.1], [0.05, 0.1], 0.9).share
    assert small[1] == pytest.approx(4 * small[0], rel=1e-6)
    assert peak_response(500.0, 500.0, 0.9).share > 0.998


def test_motion_and_blur_cost_share_and_size_gains_it() -> None:
    still, moving = peak_response(3.0, 3.0, 0.9, [0.0, 1.0]).share
    assert moving < still
    found = peak_response(3.0, 3.0, 0.9)
    assert float(found.by_size) > 0 > float(found.by_blur)


def test_a_target_without_size_is_refused() -> None:
    with pytest.raises(RangeError, match="short"):
        peak_response(0.0, 1.0, 0.9)
