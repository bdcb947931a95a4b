"""Rules of tasks as tables that a user can change: a copy in the folder ``rules`` of a job wins."""

from groundglow.kit.rules.table import FLYING, TASK, flying_rules, task_rules

__all__ = ["FLYING", "TASK", "flying_rules", "task_rules"]
