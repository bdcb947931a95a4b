"""What must hold of any kit and target: farther is harder, larger and warmer is easier."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from groundglow.kit.fleet import catalogue
from groundglow.kit.targets import target
from groundglow.records.fit import Ask, Sky, Warmth, Work
from groundglow.records.kit import Combination
from groundglow.steps.fit.evaluate import evaluate

FLEET = catalogue()
KIT = Combination(FLEET.cameras["demo-640-field"], FLEET.lenses["l640-22"])


def ask(rise: float, size: float) -> Ask:
    of = replace(target("person-lying"), warmth=Warmth(rise=rise), background="", length=size, width=size / 2)
    return Ask("q", of, "detect", 0.9, None, 50.0, 1.0, 5000.0, Work("point", ""), Sky())


RISES, SIZES = st.floats(1.5, 40.0), st.floats(0.05, 5.0)


@settings(max_examples=25, deadline=None)
@given(rise=RISES, size=SIZES)
def test_farther_is_harder(rise: float, size: float) -> None:
    distances = np.geomspace(2.0, 4000.0, 30)
    of = evaluate(ask(rise, size), [KIT] * 30, distances=distances)
    for task in ("detect", "recognise", "identify"):
        assert (np.diff(of.probability(task)[:, 0]) <= 1e-9).all()


@settings(max_examples=25, deadline=None)
@given(rise=RISES, size=SIZES, more=st.floats(1.05, 3.0))
def test_a_larger_or_warmer_target_is_seen_from_farther(rise: float, size: float, more: float) -> None:
    plain = evaluate(ask(rise, size), [KIT]).reach[0]
    assert (evaluate(ask(rise, size * more), [KIT]).reach[0] >= plain * (1 - 1e-6)).all()
    assert (evaluate(ask(rise * more, size), [KIT]).reach[0] >= plain * (1 - 1e-6)).all()


@settings(max_examples=25, deadline=None)
@given(rise=RISES, size=SIZES)
def test_finer_tasks_end_nearer_and_noise_never_helps(rise: float, size: float) -> None:
    noisy = Combination(replace(KIT.camera, noise=4 * KIT.camera.noise), KIT.lens)
    quiet, loud = evaluate(ask(rise, size), [KIT, noisy]).reach
    assert quiet[0] >= quiet[1] >= quiet[2] >= 0
    assert (loud <= quiet * (1 + 1e-6)).all()
