"""Jobs that several journeys walk through, made once a session."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from groundglow.cli.demo import truth_folder


@dataclass(frozen=True)
class Demo:
    """The demo as the command line left it."""

    job: Path
    truth: Path
    printed: str


def groundglow(*arguments: str, check: bool = True) -> subprocess.CompletedProcess[str]:
    """Call the command line as a person does, in a process of its own."""
    command = [sys.executable, "-m", "groundglow", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=check)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """The whole demo, its own seed, through ``groundglow demo``."""
    job = tmp_path_factory.mktemp("demo") / "demo-job"
    done = groundglow("demo", str(job), "--workers", "2")
    return Demo(job, truth_folder(job), done.stdout)
