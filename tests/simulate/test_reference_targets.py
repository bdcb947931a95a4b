"""Reference targets of the simulated job: noted as a crew does, and where they say they are."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from tests.simulate.conftest import Demo

from groundglow.frames.specs import read_flight_spec
from groundglow.frames.tables import read_references
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.records.visit import Reference
from groundglow.steps.measure.references import KNOWN_HALF

VISIT = "visits/2026-04-16"


@pytest.fixture(scope="module")
def boards(demo: Demo) -> list[Reference]:
    return [r for r in read_references(demo.job / VISIT / "references.csv") if r.kind == "board"]


def true_kelvin(demo: Demo, reference: Reference) -> NDArray[np.float64]:
    """True temperatures in the window that is read at a target of known pixel."""
    assert reference.frame is not None
    assert reference.column is not None
    assert reference.row is not None
    picture = cv2.imread(str(demo.truth_folder / "overview" / reference.frame.replace(".tif", ".png")), -1)
    row, column = int(reference.row), int(reference.column)
    rows, columns = (slice(n - KNOWN_HALF, n + KNOWN_HALF + 1) for n in (row, column))
    return np.asarray(picture[rows, columns] / 100.0)


def test_a_board_is_noted_by_a_frame_that_was_written(demo: Demo, boards: list[Reference]) -> None:
    """Position alone is not sure enough for a board of 1.2 m, so measuring would pass it over."""
    assert {b.use for b in boards} == {"use", "withhold"}
    for board in boards:
        assert board.frame is not None
        assert (demo.flight("overview") / "frames" / board.frame).is_file()


def test_the_noted_pixel_lies_on_the_board_near_the_middle_of_its_frame(demo: Demo, boards: list[Reference]) -> None:
    """Every pixel of the window has the board's contact temperature; grass around is more than 10 K colder."""
    camera = read_flight_spec(demo.flight("overview") / "flight.toml").camera
    assert camera.width_px is not None
    assert camera.height_px is not None
    for board in boards:
        assert np.all(np.abs(true_kelvin(demo, board) - board.value) < 1.0)
        assert board.value - ZERO_CELSIUS > 34.0
        away = np.array([board.column, board.row], dtype=float) - np.array([camera.width_px, camera.height_px]) / 2
        assert np.hypot(*away) < 0.5 * camera.height_px


def test_a_boards_material_is_what_it_is_painted_with(boards: list[Reference]) -> None:
    assert {b.material for b in boards} == {"paint, matt black"}
