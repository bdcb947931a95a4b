"""How each step's work is cut into items: one module a step. A plan yields batches; a batch may need the one before."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from groundglow.job.folder import JobFolder
from groundglow.job.ledger import Ledger
from groundglow.job.plans.check import plan_check
from groundglow.job.plans.find import plan_find
from groundglow.job.plans.fit import plan_fit
from groundglow.job.plans.measure import plan_measure
from groundglow.job.plans.plan import plan_plan
from groundglow.job.plans.register import plan_register
from groundglow.job.plans.report import plan_report
from groundglow.job.runner import Item

__all__ = ["PLANS"]

#: Steps in the order in which they run; add the next one here. What is asked of fit and plan needs no flight.
PLANS: dict[str, Callable[[JobFolder, Ledger], Iterator[list[Item]]]] = {
    "fit": plan_fit,
    "plan": plan_plan,
    "check": plan_check,
    "register": plan_register,
    "measure": plan_measure,
    "find": plan_find,
    "report": plan_report,
}
