"""A run that is killed is finished by the next one, with the same bytes as an undisturbed run."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.journeys.conftest import groundglow

from groundglow.job.demo import fly_demo

MOMENTS = 5
pytestmark = pytest.mark.accept


def bytes_of(job: Path) -> dict[str, str]:
    """Digest of every output, by name."""
    files = sorted(p for p in (job / "out").rglob("*") if p.is_file())
    return {str(p.relative_to(job)): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An eight-frame job that has not been run."""
    job = tmp_path_factory.mktemp("small") / "job"
    fly_demo(job, job.with_name("truth"), seed=3, small=True)
    return job


@pytest.fixture(scope="module")
def undisturbed(small: Path) -> dict[str, str]:
    job = small.with_name("undisturbed")
    shutil.copytree(small, job)
    groundglow("run", str(job), "--workers", "2")
    return bytes_of(job)


def kill_after(job: Path, outputs: int) -> int:
    """Start a run and kill all its processes once so many outputs exist; returns how many there were."""
    command = [sys.executable, "-m", "groundglow", "run", str(job), "--workers", "2", "--quiet"]
    run = subprocess.Popen(command, start_new_session=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    made = 0
    while run.poll() is None and made < outputs:
        time.sleep(0.01)
        made = sum(1 for p in (job / "out").rglob("*") if p.is_file() and not p.name.startswith(".part-"))
    if run.poll() is None:
        os.killpg(run.pid, signal.SIGKILL)
    run.wait()
    return made


@pytest.mark.parametrize("moment", range(MOMENTS))
def test_a_killed_run_is_finished_with_the_same_bytes(
    small: Path, undisturbed: dict[str, str], tmp_path: Path, moment: int
) -> None:
    job = tmp_path / "job"
    shutil.copytree(small, job)
    span = len(undisturbed) / MOMENTS
    target = int(span * moment + random.Random(moment).uniform(0, span - 1))
    made = kill_after(job, max(target, 1))
    assert made < len(undisturbed), "the run ended before it was killed"
    groundglow("run", str(job), "--workers", "2")
    assert bytes_of(job) == undisturbed
