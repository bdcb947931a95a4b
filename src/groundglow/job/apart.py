"""A run in a process of its own that tells how it goes, one line of JSON an event; it ends with its input.

``python -m groundglow.job.apart JOB LAST WORKERS``. Its holder keeps its standard input open: when that is closed, or
its holder dies, the run stops; what was finished is kept.
"""

from __future__ import annotations

import _thread
import json
import sys
import threading
from pathlib import Path
from typing import Any

from groundglow.errors import GroundglowError
from groundglow.job.chain import run_steps
from groundglow.job.folder import open_job

__all__ = ["main"]


def _tell(event: str, **said: Any) -> None:
    print(json.dumps({"event": event, **said}), flush=True)  # noqa: T201 - its output is what it is for


class _Teller:
    """A watcher that tells its holder."""

    def begin(self, step: str, total: int, kept: int, why: str) -> None:
        """A batch of items begins."""
        _tell("begin", step=step, total=total, kept=kept, why=why)

    def advance(self, item: str, set_aside: str) -> None:
        """One item is done."""
        _tell("advance", item=item, set_aside=set_aside)


def _stop_with_input() -> None:
    """Stop this run when nobody holds its input any more."""
    sys.stdin.buffer.read()
    _thread.interrupt_main()


def main(arguments: list[str]) -> int:
    """Run; 0 done, 2 refused or failed with a reason, 130 stopped."""
    place, last, workers = arguments
    threading.Thread(target=_stop_with_input, daemon=True).start()
    try:
        results = run_steps(open_job(Path(place)), last, workers=int(workers), watcher=_Teller())
    except GroundglowError as error:
        _tell("failed", message=str(error), kind=type(error).__name__)
        return 2
    except (KeyboardInterrupt, BrokenPipeError):
        return 130
    aside = {name: why for result in results for name, why in result.set_aside.items()}
    _tell("done", steps=[{"step": r.step, "done": r.done, "kept": r.kept} for r in results], set_aside=aside)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
