"""Compiling ahead: what is warmed is all that a run needs, so no two workers compile the same."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from groundglow.job.warm import WARMERS

#: Runs a job in one process after warming and prints the kernels that were compiled all the same.
PROGRAM = """
import sys
from pathlib import Path
from numba.core import event

class Listener(event.Listener):
    late = []
    def on_start(self, happened):
        self.late.append(happened.data["dispatcher"].py_func.__qualname__)
    def on_end(self, happened):
        pass

from groundglow.job.chain import run_steps
from groundglow.job.folder import open_job
from groundglow.job.warm import WARMERS
for warmer in WARMERS:
    warmer()
event.register("numba:compile", Listener())
run_steps(open_job(Path(sys.argv[1])), "find")
print(" ".join(sorted(set(Listener.late))))
"""


@pytest.mark.parametrize("warmer", WARMERS)
def test_a_warmer_runs_on_its_own(warmer: Callable[[], None]) -> None:
    """In a pool its failure would go unseen: the run would only be slower."""
    warmer()


@pytest.mark.accept
def test_after_warming_a_run_compiles_nothing(small_demo: tuple[Path, Path], tmp_path: Path) -> None:
    """In a process that finds no compiled code on disk."""
    job = tmp_path / "job"
    shutil.copytree(small_demo[0], job)
    bare = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path / "kernels")}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(job)], env=bare, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == ""
