"""Answers as plain data for JSON: SI and degrees Celsius, units in the names, null for none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from groundglow.kit.fleet import Fleet
from groundglow.records.fit import Answer, Ask
from groundglow.steps.fit.card import Card
from groundglow.steps.fit.findings import FitFindings
from groundglow.steps.fit.matrix import Matrix
from groundglow.steps.fit.recording import advice_for
from groundglow.steps.fit.several import Cover

__all__ = ["plain_answer", "plain_card", "plain_cover", "plain_findings", "plain_kit", "plain_matrix"]

_ZERO = 273.15


def _number(value: float | None) -> float | None:
    return float(value) if value is not None and math.isfinite(value) else None


def _ask(ask: Ask) -> dict[str, Any]:
    sky = ask.sky
    return {
        "name": ask.name,
        "target": ask.target.id,
        "target_m": [ask.target.length, ask.target.width, ask.target.height],
        "task": ask.task,
        "probability": ask.probability,
        "accuracy_k": ask.accuracy,
        "of": ask.of,
        "view": ask.view,
        "distance_m": ask.distance,
        "nearest_m": ask.nearest,
        "highest_m": ask.highest,
        "work": {"shape": ask.work.shape, "why": ask.work.why},
        "hour": ask.hour,
        "air_c": [sky.lowest - _ZERO, sky.highest - _ZERO],
        "relative_humidity": sky.relative_humidity,
        "wind_m_s": sky.wind_speed,
        "cloud": sky.cloud_fraction,
        "assumed": list(sky.assumed),
        "sources": dict(ask.target.sources),
    }


def plain_answer(a: Answer) -> dict[str, Any]:
    """One combination."""
    at, kit = a.at, a.combination
    work = a.effort
    return {
        "camera": kit.camera.id,
        "lens": kit.lens.id,
        "aircraft": kit.aircraft.id if kit.aircraft else None,
        "fit": a.fit,
        "rank": a.rank or None,
        "pareto": a.pareto,
        "reasons": [{"kind": r.kind, "words": r.words} for r in a.reasons],
        "reach_m": {
            "detect": _number(a.reach.detect),
            "recognise": _number(a.reach.recognise),
            "identify": _number(a.reach.identify),
            "measure": _number(a.reach.measure),
            "task_rule_pixels": _number(a.reach.least_pixels),
            "capped": a.reach.capped,
        },
        "distance_m": at.distance,
        "hour": at.hour,
        "footprint_m": list(at.footprint),
        "ground_sampling_m": at.ground_sampling,
        "pixels": list(at.pixels),
        "rise_k": at.rise,
        "contrast": _number(at.contrast),
        "transmittance": at.transmittance,
        "probability": dict(at.probability),
        "interval_k": _number(at.interval),
        "bias_k": _number(at.bias),
        "support": at.support,
        "speed_m_s": at.speed,
        "smear_px": at.smear,
        "margin": _number(a.margin),
        "hours": list(a.hours),
        "effort": None
        if work is None
        else {
            "per_battery": work.per_battery,
            "unit": work.unit,
            "flights": work.flights,
            "seconds": work.seconds,
            "endurance_s": work.endurance,
        },
        "price": kit.price,
        "lead_time_days": kit.lead_time_days,
        "warm_up_s": kit.camera.warm_up,
        "recording": a.recording,
        "frame_rate_hz": a.frame_rate,
        "place_of_use": list(a.flags),
    }


def plain_findings(found: FitFindings, top: int) -> dict[str, Any]:
    """One question: the first ``top`` fit ones in full, all unfit ones with their reasons."""
    return {
        "asked": _ask(found.ask),
        "rule": found.rule,
        "combinations": len(found.answers),
        "fit": [plain_answer(a) for a in found.fit[:top]],
        "fit_count": len(found.fit),
        "unfit": [plain_answer(a) for a in found.answers if not a.fit],
        "would_change": [
            {
                "combination": t.answer.combination.id,
                "name": t.answer.combination.name,
                "fit": t.answer.fit,
                "changes": [{"of": c.of, "words": c.words, "amount": c.amount} for c in t.changes],
            }
            for t in found.turns
        ],
        "upgrades": [
            {
                "owned": u.owned.combination.id,
                "owned_name": u.owned.combination.name,
                "next": u.next.combination.id,
                "next_name": u.next.combination.name,
                "new": list(u.new),
                "gain": _number(u.gain),
                "price": u.price,
            }
            for u in found.upgrades
        ],
        "recording": _recording(found),
        "assumed": list(found.assumed),
        "cautions": list(found.cautions),
        "place_of_use": list(found.place_of_use),
    }


def _recording(found: FitFindings) -> dict[str, Any]:
    """Ways to record with the best kit."""
    advice = advice_for(found.ask, found.best)
    units = {"step": "step_k", "noise": "noise_k", "bytes": "storage_bytes", "bytes_an_hour": "storage_bytes_an_hour"}
    offered = [{units.get(n, n): v for n, v in asdict(way).items()} for way in advice.ways if way.offered]
    return {"enough": advice.enough, "fullest": advice.fullest, "notes": list(advice.notes), "ways": offered}


def plain_cover(cover: Cover) -> dict[str, Any]:
    """The smallest set of kits."""
    return {
        "kits": [kit.id for kit in cover.kits],
        "serves": {name: kit.id for name, kit in cover.serves.items()},
        "unserved": list(cover.unserved),
        "smallest": cover.smallest,
    }


def plain_kit(fleet: Fleet, faults: Sequence[str]) -> dict[str, Any]:
    """A kit file as checked."""
    return {
        "sound": not faults,
        "faults": list(faults),
        "cameras": list(fleet.cameras),
        "aircraft": list(fleet.aircraft),
        "owned": [kit.id for kit in fleet.owned],
    }


def plain_matrix(found: Matrix) -> dict[str, Any]:
    """Cameras by aircraft."""
    return {
        "wind_m_s": found.wind,
        "cells": [
            {
                "camera": cell.camera.id,
                "aircraft": cell.aircraft.id,
                "useful_s": list(cell.useful) if cell.useful else None,
                "lenses": list(cell.lenses),
                "reasons": [{"kind": r.kind, "words": r.words} for r in cell.reasons],
            }
            for row in found.cells
            for cell in row
        ],
    }


def plain_card(card: Card) -> dict[str, Any]:
    """A limits card."""
    return {
        "combination": card.combination.id,
        "place": card.place.words,
        "probability": card.probability,
        "hours": {name: list(works) for name, works in card.hours.items()},
        "rows": [
            {"target": row.target.id, "task": row.task, "reach_m": {k: _number(v) for k, v in row.reach.items()}}
            for row in card.rows
        ],
    }
