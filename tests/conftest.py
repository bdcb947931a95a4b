"""Fixtures that all tests share: reference values and open data beside the repository, no network."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

#: What a test protects does not depend on how busy the machine is.
settings.register_profile("steady", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")

REPOSITORY = Path(__file__).resolve().parents[1]
#: Where the shared reference values and open data lie; another place may be named for CI.
SHARED = Path(os.environ.get("GROUNDGLOW_SHARED", REPOSITORY.parent / "shared"))


def _finder(part: str) -> Callable[[str], Path]:
    def find(name: str) -> Path:
        path = SHARED / part / name
        if not path.exists():
            pytest.skip(f"{part}/{name} is not beside this checkout (set GROUNDGLOW_SHARED to the folder that has it)")
        return path

    return find


@pytest.fixture(scope="session")
def shared_data() -> Callable[[str], Path]:
    """``shared_data("river-flight")`` is the folder of that open data, or the test is skipped."""
    return _finder("data")


@pytest.fixture(scope="session")
def shared_reference() -> Callable[[str], Path]:
    """``shared_reference("planck_inband.csv")`` is that table of published values, or the test is skipped."""
    return _finder("reference")


@pytest.fixture(scope="session")
def small_demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Job and truth of the invented site flown with eight frames, not run: copy it, never write to it."""
    from groundglow.job.demo import fly_demo

    root = tmp_path_factory.mktemp("small-demo")
    fly_demo(root / "job", root / "truth", small=True)
    return root / "job", root / "truth"


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refuse any connection that leaves this machine."""
    real = socket.socket.connect

    def connect(self: socket.socket, address: Any) -> None:
        local = self.family == socket.AF_UNIX or str(address[0]) in ("127.0.0.1", "::1", "localhost")
        if not local:
            raise OSError(f"tests may not reach the network: {address}")
        real(self, address)

    monkeypatch.setattr(socket.socket, "connect", connect)
