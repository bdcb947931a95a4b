"""The demonstration's job: the invented site is asked for, planned, and the plans are flown."""

from __future__ import annotations

from pathlib import Path

from groundglow.job.plan import plans_of_brief
from groundglow.kit.fleet import catalogue
from groundglow.simulate import ask_demo, make_demo

__all__ = ["fly_demo"]


def fly_demo(job: Path, truth: Path, *, seed: int = 7, small: bool = False, workers: int = 2) -> None:
    """Write the brief, plan its flights and fly them: a job as a client and a pilot leave it, its truth apart.

    Parameters
    ----------
    job, truth, seed, small, workers
        As `groundglow.simulate.make_demo` takes them.

    Raises
    ------
    JobError
        When the faults do not fit on the site (not with the default seed).
    """
    ask_demo(job, seed=seed)
    plans = plans_of_brief(job / "brief.toml", catalogue())
    make_demo(job, truth, plans, seed=seed, small=small, workers=workers)
