"""Fit, or unfit with the reason that binds; effort, rank, what would turn it, what an upgrade buys."""

from __future__ import annotations

from dataclasses import replace

import pytest

from groundglow.kit.fleet import catalogue
from groundglow.kit.place_of_use import use_table
from groundglow.kit.targets import target
from groundglow.records.fit import Answer, Ask, Sky, Use, Work
from groundglow.records.kit import Combination, Offer
from groundglow.steps.fit import chosen_combinations, fit_findings, kit_matrix, limits_card, smallest_cover
from groundglow.steps.fit.answer import answer, answers_of
from groundglow.steps.fit.changes import turn
from groundglow.steps.fit.effort import effort, endurance
from groundglow.steps.fit.evaluate import evaluate
from groundglow.steps.fit.rank import pareto_front, ranked
from groundglow.steps.fit.upgrade import upgrades

FLEET = catalogue()
KITS = tuple(FLEET.combinations())
CLAMP = Ask(
    "clamps", target("clamp"), "measure", 0.9, 5.0, 25.0, 5.0, 120.0, Work("point", ""), Sky(280.0, 292.0),
    view="side", of="rise", lon_deg=11.0, lat_deg=48.0, day=1777716000.0,
)  # fmt: skip
FIELD = replace(
    CLAMP, name="walker", target=target("person-lying"), task="detect", accuracy=None, distance=None, view="above",
    of="temperature", work=Work("area", "", area=4e5), hour=22,
)  # fmt: skip


def kit(camera: str, lens: str, aircraft: str | None = None) -> Combination:
    return Combination(FLEET.cameras[camera], FLEET.lenses[lens], FLEET.aircraft[aircraft] if aircraft else None)


def one(ask: Ask, of: Combination) -> Answer:
    return answers_of(evaluate(ask, [of]))[0]


def kinds(ask: Ask, of: Combination) -> list[str]:
    return [reason.kind for reason in one(ask, of).reasons]


GOOD = kit("demo-640-field", "l640-22", "demo-quad-work")


def test_a_kit_that_does_is_fit_and_says_how_well() -> None:
    found = one(CLAMP, GOOD)
    assert found.fit
    assert not found.reasons
    assert found.at.interval is not None
    assert found.at.interval < 5.0
    assert found.reach.measure is not None
    assert found.reach.measure > 25.0
    assert found.margin == pytest.approx(found.reach.measure / 25.0 - 1.0)
    assert found.recording == "temperature frames"


@pytest.mark.parametrize(
    ("ask", "of", "kind"),
    [
        (CLAMP, kit("demo-640-field", "l640-22", "demo-quad-small"), "mount"),
        (CLAMP, kit("demo-960-far", "l960-38", "demo-quad-work"), "payload"),
        (CLAMP, kit("demo-360-look", "l360-10", "demo-quad-small"), "recording"),
        (CLAMP, kit("demo-640-open", "l640-45", "demo-quad-work"), "calibration"),
        (CLAMP, kit("demo-640", "l640-13", "demo-wing"), "hover"),
        (CLAMP, kit("demo-360-read", "l360-10", "demo-quad-small"), "pixels"),
        (replace(CLAMP, accuracy=2.0), GOOD, "accuracy"),
        (replace(CLAMP, sky=Sky(280.0, 292.0, wind_speed=13.0)), GOOD, "wind"),
        (replace(CLAMP, sky=Sky(250.0, 260.0)), GOOD, "weather"),
        (replace(CLAMP, sky=replace(CLAMP.sky, rain=True)), kit("demo-640", "l640-13", "demo-quad-small"), "weather"),
        (replace(CLAMP, ground_height=4490.0), GOOD, "ceiling"),
        (replace(CLAMP, recording="raw video"), kit("demo-960-map", "l960-16", "demo-quad-work"), "recording"),
        (replace(CLAMP, highest_frame_rate=9.0), kit("demo-960-far", "l960-38", "demo-hexa"), "frame rate"),
        (replace(CLAMP, distance=3.0), GOOD, "stand-off"),
        (replace(FIELD, distance=20.0), kit("demo-640", "l640-13", "demo-wing"), "stand-off"),
        (replace(FIELD, hour=13, distance=100.0), kit("demo-640", "l640-13", "demo-quad-small"), "contrast"),
        (replace(FIELD, target=target("wet-roof"), hour=13, distance=50.0), GOOD, "hour"),
        (replace(CLAMP, target=target("fire")), kit("demo-640", "l640-13", "demo-quad-work"), "range"),
    ],
)  # fmt: skip
def test_each_reason_is_found(ask: Ask, of: Combination, kind: str) -> None:
    assert kind in kinds(ask, of)


def test_rain_does_not_stop_a_kit_that_is_rated_for_it() -> None:
    wet = replace(CLAMP, sky=replace(CLAMP.sky, rain=True))
    assert one(wet, GOOD).fit


def test_a_fast_wing_smears_a_faint_thing_that_a_slow_aircraft_sees() -> None:
    faint = replace(
        FIELD, target=replace(target("pond-leak"), length=0.6, width=0.6), distance=60.0, speed=14.0, hour=None
    )
    slow = replace(faint, speed=1.0)
    plane, quad = kit("demo-640", "l640-13", "demo-lift-wing"), kit("demo-640", "l640-13", "demo-quad-small")
    assert one(faint, plane).at.smear > 5 * one(slow, quad).at.smear
    assert one(faint, plane).at.probability["recognise"] < one(slow, quad).at.probability["recognise"]


def test_a_budget_counts_only_where_prices_are_known() -> None:
    assert one(replace(CLAMP, budget=1.0), GOOD).fit
    offer = Offer(price=3000.0, currency="EUR")
    camera, aircraft = replace(GOOD.camera, offer=offer), replace(FLEET.aircraft["demo-quad-work"], offer=offer)
    priced = Combination(camera, replace(GOOD.lens, offer=offer), aircraft)
    assert priced.price == 9000.0
    assert kinds(replace(CLAMP, budget=8000.0), priced) == ["budget"]
    assert one(replace(CLAMP, budget=9000.0), priced).fit


def test_place_of_use_is_a_flag_and_never_a_reason(tmp_path) -> None:
    table = tmp_path / "place_of_use.toml"
    table.write_text('[[row]]\nfrom = "A"\nto = "B"\noutcome = "no"\nsource = "own note"\ndate = 2026-01-01\n')
    away = replace(CLAMP, use=Use(bought_in="A", used_in="B"))
    found = answers_of(evaluate(away, [GOOD]), table=use_table(table))[0]
    assert found.fit
    assert "your table says no" in found.flags[0]


def test_endurance_falls_with_load_wind_and_reserve() -> None:
    aircraft = FLEET.aircraft["demo-quad-work"]
    assert endurance(aircraft, 0.0, 0.0) == pytest.approx(44 * 60 * 0.75 - 180)  # full time less a quarter and 3 min
    assert endurance(aircraft, 1.2, 0.0) < endurance(aircraft, 0.5, 0.0) < endurance(aircraft, 0.0, 0.0)
    assert endurance(aircraft, 0.5, 10.0) < endurance(aircraft, 0.5, 0.0)
    assert endurance(replace(aircraft, reserve=0.99), 0.5, 0.0) == 0.0


def test_flights_follow_from_speed_strip_and_time() -> None:
    """Worked by hand: 50 m wide strips 30 % overlapped are 35 m apart; 5 m/s, a tenth and a half lost in turns."""
    work = effort(FIELD, GOOD, speed=5.0, footprint=(50.0, 40.0))
    assert work is not None
    seconds = 4e5 / (35.0 * 5.0 * 0.85)
    assert work.seconds == pytest.approx(seconds)
    assert work.flights == -(-seconds // work.endurance)
    line = effort(replace(FIELD, work=Work("line", "", length=3000.0)), GOOD, speed=5.0, footprint=(50.0, 40.0))
    assert line is not None
    assert line.seconds == pytest.approx(600.0)
    face = effort(replace(FIELD, work=Work("face", "", face=(30.0, 60.0))), GOOD, speed=2.0, footprint=(20.0, 16.0))
    assert face is not None
    assert face.seconds == pytest.approx(30.0 * 4 / 2.0)


def test_ranks_follow_the_stated_rule_and_the_front_holds_the_best() -> None:
    found = answer(CLAMP, KITS)
    fit = [a for a in found if a.fit]
    assert [a.rank for a in fit] == list(range(1, len(fit) + 1))
    orders = [(a.effort.flights, -sum(a.hours), -round(a.margin, 3)) for a in fit if a.effort]
    assert orders == sorted(orders)
    assert fit[0].pareto
    assert all(not a.fit for a in found[len(fit) :])


def test_the_pareto_front_by_hand() -> None:
    assert pareto_front([(1, 4), (2, 3), (3, 3), (4, 1), (4, 1)]) == [True, True, False, True, True]


def test_ranking_does_not_hang_on_the_order_of_the_catalogue() -> None:
    forward, backward = answer(CLAMP, KITS), answer(CLAMP, KITS[::-1])
    assert [a.combination.id for a in forward] == [a.combination.id for a in backward]
    assert ranked([]) == ()


def test_the_nearest_change_of_height_turns_an_unfit_one() -> None:
    near = kit("demo-360-read", "l360-10", "demo-quad-small")
    found = turn(CLAMP, one(CLAMP, near))
    change = next(c for c in found.changes if c.of == "height")
    assert one(replace(CLAMP, distance=25.0 - change.amount), near).fit
    assert not one(replace(CLAMP, distance=25.0 - 0.8 * change.amount), near).fit


def test_the_change_that_breaks_the_best_one_lies_just_beyond_its_reach() -> None:
    best = one(CLAMP, GOOD)
    change = next(c for c in turn(CLAMP, best).changes if c.of == "height")
    there = 25.0 + change.amount
    assert best.reach.measure is not None
    assert best.reach.measure < there < 1.1 * best.reach.measure


def test_another_lens_and_another_hour_are_named() -> None:
    ask = replace(FIELD, task="recognise", distance=90.0, hour=22)
    short = kit("demo-640-field", "l640-13", "demo-quad-work")
    found = turn(ask, one(ask, short), KITS)
    assert any(c.of == "lens" and "longer" in c.words for c in found.changes)
    day = replace(FIELD, distance=60.0, hour=13)
    hour = next(c for c in turn(day, one(day, short)).changes if c.of == "hour")
    assert (
        one(replace(day, hour=(13 + int(hour.amount)) % 24), short).fit
        or one(replace(day, hour=(13 - int(hour.amount)) % 24), short).fit
    )


def test_the_aircraft_that_carries_it_is_named_where_the_mount_alone_stands_in_the_way() -> None:
    wrong = kit("demo-640-field", "l640-22", "demo-lift-wing")
    assert kinds(CLAMP, wrong) == ["hover"]
    change = next(c for c in turn(CLAMP, one(CLAMP, wrong), KITS).changes if c.of == "aircraft")
    carrier = next(a for a in FLEET.aircraft.values() if change.words == f"under the {a.name}")
    assert one(CLAMP, replace(wrong, aircraft=carrier)).fit
    lighter = [a for a in FLEET.aircraft.values() if a.payload < carrier.payload]
    assert not any(one(CLAMP, replace(wrong, aircraft=a)).fit for a in lighter)


def test_a_budget_that_cannot_be_held_against_prices_is_told() -> None:
    said = fit_findings(replace(CLAMP, budget=1.0), KITS[:3]).assumed
    assert any("of 3 of 3 it is not known" in words for words in said)
    assert not any("budget" in words for words in fit_findings(CLAMP, KITS[:3]).assumed)


def test_an_upgrade_reaches_farther_and_names_what_is_new() -> None:
    owned = kit("demo-640", "l640-13", "demo-quad-small")
    steps = upgrades(CLAMP, owned, KITS)
    assert steps
    assert all(s.gain > 1.05 for s in steps)
    assert [len(s.new) for s in steps] == sorted(len(s.new) for s in steps)
    assert all(part.split()[1] in s.next.combination.id for s in steps for part in s.new)


def test_of_the_nearest_unfit_ones_one_is_told_that_a_change_turns() -> None:
    """Cattle with slow cameras only: the nearest by reasons has no such change, another by its aircraft has one."""
    asked = replace(FIELD, target=target("cattle"), distance=60.0, highest_frame_rate=9.0)
    ask = replace(asked, work=Work("area", "", area=2e5))
    fit, unfit = fit_findings(ask, KITS).turns
    assert fit.answer.fit
    assert not unfit.answer.fit
    assert unfit.changes


def test_a_kit_with_nothing_better_has_no_upgrade() -> None:
    assert upgrades(CLAMP, GOOD, [GOOD]) == ()


def test_the_smallest_set_of_kits_is_smallest() -> None:
    """Three questions, by hand: A serves 1 and 2, B 2 and 3, C 3 but worse: A with B."""
    parts = [kit("demo-640", "l640-13", a) for a in ("demo-quad-small", "demo-wing", "demo-lift-wing")]
    base = one(CLAMP, GOOD)

    def says(ranks: list[int]) -> list[Answer]:
        return [replace(base, combination=p, fit=r > 0, rank=r) for p, r in zip(parts, ranks, strict=True)]

    found = smallest_cover({"1": says([1, 0, 0]), "2": says([2, 1, 0]), "3": says([0, 2, 3]), "4": says([0, 0, 0])})
    assert {k.id for k in found.kits} == {parts[0].id, parts[1].id}
    assert found.unserved == ("4",)
    assert found.smallest
    assert found.serves["2"] == parts[1]


def test_one_kit_that_serves_all_is_the_whole_set() -> None:
    answers = {ask.name: answer(ask, KITS) for ask in (CLAMP, FIELD)}
    found = smallest_cover(answers)
    assert len(found.kits) == 1
    assert all(any(a.fit and a.combination == found.kits[0] for a in row) for row in answers.values())


def test_the_matrix_says_where_a_camera_goes_and_why_not() -> None:
    found = kit_matrix(tuple(FLEET.cameras.values()), tuple(FLEET.aircraft.values()), wind=3.0)
    cells = {(c.camera.id, c.aircraft.id): c for row in found.cells for c in row}
    assert len(cells) == 35
    assert cells["demo-640-field", "demo-quad-work"].useful is not None
    assert [r.kind for r in cells["demo-960-far", "demo-quad-small"].reasons] == ["mount", "payload"]
    windy = kit_matrix([FLEET.cameras["demo-640"]], [FLEET.aircraft["demo-quad-small"]], wind=20.0)
    assert [r.kind for r in windy.cells[0][0].reasons] == ["wind"]


def test_the_limits_card_of_a_kit() -> None:
    card = limits_card(kit("demo-640-field", "l640-22"), [target("person-lying"), target("cell")])
    reach = {(row.target.id, row.task): row.reach for row in card.rows}
    person, cell = reach["person-lying", "detect"], reach["photovoltaic-cell", "detect"]
    assert person["night, dry"] > person["day, dry"]  # type: ignore[operator]
    assert cell["day, dry"] > 0 == cell["night, dry"]  # type: ignore[operator]
    assert reach["person-lying", "detect"]["night, dry"] > reach["person-lying", "identify"]["night, dry"]  # type: ignore[operator]
    look = limits_card(kit("demo-360-look", "l360-10"), [target("clamp")])
    assert all(v is None for row in look.rows if row.task == "measure" for v in row.reach.values())
    works = card.hours["a person lying"], card.hours["a photovoltaic cell"]
    assert [len(w) for w in works] == [24, 24]
    assert (works[0][2], works[1][2], works[1][12]) == (True, False, True)


def test_findings_carry_the_cautions_that_the_work_needs() -> None:
    risky = replace(FIELD, people_near=True, live_parts=True)
    said = " ".join(fit_findings(risky, KITS[:5]).cautions)
    for words in (
        "aviation rules",
        "People are near",
        "licensed persons",
        "never means that nobody is there",
        "not a verdict",
    ):
        assert words in said


def test_combinations_are_chosen_by_name() -> None:
    assert len(chosen_combinations(FLEET)) == len(KITS)
    assert [c.aircraft for c in chosen_combinations(FLEET, camera="demo-640")] == [None]
    assert len(chosen_combinations(FLEET, camera="demo-640-open", aircraft="demo-hexa")) == 4
    with pytest.raises(ValueError, match="did you mean 'demo-640'"):
        chosen_combinations(FLEET, camera="demo-64")
    with pytest.raises(ValueError, match="does not fit camera 'demo-640'; it takes l640-13"):
        chosen_combinations(FLEET, camera="demo-640", lens="l960-38")
