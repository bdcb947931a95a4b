"""What targets said of a flight, as text between items and as a sentence for the report."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np

from groundglow.model.constraint import Constraint

__all__ = ["constraint_from_json", "constraint_note", "constraint_to_json"]

#: Probability below which targets and stated doubts are said to contradict each other (common practice, no source).
CONTRADICTION = 0.01


def constraint_to_json(known: Constraint, targets: Sequence[str]) -> str:
    """Text form, with the names of the targets that were used."""
    raw = {
        "names": known.names,
        "estimate": known.estimate.tolist(),
        "root": known.root.tolist(),
        "agreement": known.agreement,
        "targets": list(targets),
    }
    return json.dumps(raw, sort_keys=True, indent=1)


def constraint_from_json(text: str) -> Constraint | None:
    """What `constraint_to_json` wrote; None when no target was used."""
    raw = json.loads(text)
    if not raw["targets"]:
        return None
    return Constraint(tuple(raw["names"]), np.array(raw["estimate"]), np.array(raw["root"]), raw["agreement"])


def constraint_note(text: str) -> str:
    """What the targets changed, in a sentence; empty when none was used."""
    raw = json.loads(text)
    if not raw["targets"]:
        return ""
    left = np.sqrt(np.diag(np.array(raw["root"]) @ np.array(raw["root"])))
    moved = sorted(zip(raw["names"], raw["estimate"], left, strict=True), key=lambda m: m[2])
    told = "; ".join(f"{n} moved by {e:+.1f} of its doubt, {100 * s:.0f} % of it left" for n, e, s in moved if s < 0.95)
    clash = (
        " They contradict the stated doubts: check contact values and places."
        if raw["agreement"] < CONTRADICTION
        else ""
    )
    return f"Reference targets used: {', '.join(raw['targets'])}. {told or 'They change nothing noticeable'}.{clash}"
