"""Frames and specs that the tests of this room share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from groundglow.records.flight import FlightSpec


@pytest.fixture
def counts() -> NDArray[np.uint16]:
    """A small frame of counts, every pixel different."""
    return (3000 + np.arange(48 * 64, dtype=np.uint16)).reshape(48, 64)


@pytest.fixture
def counts_spec() -> FlightSpec:
    """flight.toml of a flight that recorded counts and nothing else."""
    return FlightSpec.parse({"values": {"kind": "counts"}}, "flight.toml")


@pytest.fixture
def flight() -> Callable[..., FlightSpec]:
    """flight.toml from tables: ``flight(values={...}, poses={...})``."""

    def make(**tables: Any) -> FlightSpec:
        return FlightSpec.parse({"values": {"kind": "counts"}, **tables}, "flight.toml")

    return make


@pytest.fixture
def written(tmp_path: Path) -> Callable[[str, str], Path]:
    """Write a text file and hand back its path."""

    def write(name: str, text: str) -> Path:
        path = tmp_path / name
        path.write_text(text, "utf-8")
        return path

    return write
