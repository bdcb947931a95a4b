"""One small simulated job for all tests of the simulator, and a hand-made world for its rays."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from groundglow.model.band import lookup, nominal_band
from groundglow.model.table import BandTable
from groundglow.simulate.site.paint import Scene
from groundglow.simulate.site.parts import Grid, Site, Surface, rectangle
from groundglow.simulate.truth_reading import Truth, read_truth


class Demo(NamedTuple):
    """Folders of a small simulated job and its truth."""

    job: Path
    truth_folder: Path
    truth: Truth

    def flight(self, name: str) -> Path:
        """Folder of one flight."""
        return self.job / "visits" / "2026-04-16" / "flights" / name


@pytest.fixture(scope="session")
def demo(small_demo: tuple[Path, Path]) -> Demo:
    """The invented site flown with eight frames."""
    job, truth = small_demo
    return Demo(job, truth, read_truth(truth))


@pytest.fixture(scope="session")
def table() -> BandTable:
    """Table of the invented camera's band."""
    return lookup(nominal_band("7.5-13.5"))


@pytest.fixture
def scene() -> Scene:
    """Level grass at 300 K, a table of glass floating and tilted, a tank of 2 m, all of even temperature."""
    tilt = np.tan(np.radians(20.0))
    surfaces = (
        Surface("grass", "grass", rectangle(-20.0, -20.0, 20.0, 20.0), zone="grass"),
        Surface("tank", "tank", rectangle(2.0, -1.0, 4.0, 1.0), plane=(2.0, 0.0, 0.0), zone="grass"),
        Surface("glass", "module", rectangle(-5.0, 2.0, -2.0, 4.0), plane=(1.0, 0.0, tilt), floats=True, zone="grass"),
    )
    grid = Grid.spanning((-20.0, -20.0, 20.0, 20.0), 0.05)
    index = np.zeros(grid.shape, dtype=np.uint16)
    for number, surface in enumerate(surfaces[1:], start=1):
        rows, columns = grid.window(surface.outline)
        index[rows.start + 1 : rows.stop - 1, columns.start + 1 : columns.stop - 1] = number
    warm = np.array([300.0, 310.0, 315.0], dtype=np.float32)[index]
    return Scene(Site(surfaces, {}), grid, index, warm)
