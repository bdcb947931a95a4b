"""The flag of place of use: by the user's own rows, "ask" otherwise, and never a decision."""

from datetime import date

import pytest

from groundglow.kit.fleet import catalogue
from groundglow.kit.place_of_use import UseRow, UseTable, use_table
from groundglow.records.brief import FitQuestion
from groundglow.records.fit import Use
from groundglow.steps.fit import ask_of, chosen_combinations, fit_findings
from groundglow.steps.fit.place_of_use import ALWAYS, use_flag

TRIP = Use(bought_in="Land A", used_in="Land B", end_use="civil inspection")


def rows(*each):
    common = {"source": "letter 17", "date": date(2026, 5, 1)}
    return UseTable(row=tuple(UseRow(**{**common, **row}) for row in each), text=use_table().text)


def outcome(table, use=TRIP, rate=30.0):
    return use_flag(use, rate, table).outcome


def test_asks_when_the_table_says_nothing():
    assert outcome(use_table()) == "ask"


def test_asks_when_the_brief_does_not_say_where():
    flag = use_flag(Use(), 9.0, rows({"from": "Land A", "to": "Land B", "outcome": "no licence need"}))
    assert flag.outcome == "ask"
    assert "does not say" in flag.words


@pytest.mark.parametrize(
    ("said", "shown"),
    [("no licence need", "your table lists no licence need"), ("ask", "ask"), ("no", "your table says no")],
)
def test_outcomes_are_words_about_the_table(said, shown):
    assert outcome(rows({"from": "land a", "to": "LAND B", "outcome": said})) == shown


def test_the_narrowest_row_holds_and_the_stricter_of_two_equals():
    wide = {"to": "Land B", "outcome": "no"}
    narrow = {"from": "Land A", "to": "Land B", "end_use": "civil inspection", "outcome": "no licence need"}
    assert outcome(rows(wide, narrow)) == "your table lists no licence need"
    equal = {"from": "Land A", "to": "Land B", "end_user": "*", "end_use": "civil inspection", "outcome": "no"}
    assert outcome(rows(narrow, equal)) == "your table says no"


def test_a_row_for_slow_cameras_does_not_hold_for_fast_ones():
    slow = {"from": "Land A", "to": "Land B", "up_to_hz": 9.0, "outcome": "no licence need"}
    assert outcome(rows(slow), rate=9.0) == "your table lists no licence need"
    assert outcome(rows(slow), rate=30.0) == "ask"


def test_temporary_carriage_is_a_key_of_its_own():
    carried = {"from": "Land A", "to": "Land B", "temporary": True, "outcome": "no licence need"}
    assert outcome(rows(carried)) == "ask"
    there_and_back = Use(bought_in="Land A", used_in="Land B", temporary=True)
    assert outcome(rows(carried), there_and_back) == "your table lists no licence need"


def words(table, **asked):
    question = ask_of(FitQuestion(target="cattle", distance="60 m", **asked))
    kits = chosen_combinations(catalogue(), camera="demo-640") + chosen_combinations(catalogue(), camera="demo-960-far")
    return fit_findings(question, kits, table=table).place_of_use


def test_beside_every_answer_stands_once_that_only_the_authority_decides_and_the_rules_in_their_words():
    for table in (use_table(), rows({"from": "Land A", "to": "Land B", "outcome": "no licence need"})):
        lines = words(table, bought_in="Land A", used_in="Land B")
        assert lines.count(ALWAYS) == 1
        said = " ".join(lines)
        assert "Only the competent authority decides" in said
        assert said.count("equal to or less than 9 Hz or") + said.count("equal to or less than 9 Hz”") >= 1
        assert "not" in said.split("744.9")[1]


def test_each_camera_that_would_do_is_named_with_its_fastest_rate_and_its_flag():
    (flag,) = (line for line in words(use_table(), bought_in="Land A", used_in="Land B") if "ask. " in line)
    assert flag.endswith(": ask. No row of your table holds from Land A to Land B, to stay.")
    for camera, rate in (("demo-640", 30), ("demo-960-far", 25)):
        assert f"{catalogue().cameras[camera].name} (up to {rate} Hz)" in flag


def test_nothing_is_said_where_nobody_asks_of_places_or_rates():
    assert words(use_table()) == ()
    assert words(None, bought_in="Land A", used_in="Land B") == ()
    assert "does not say" in words(use_table(), highest_frame_rate="9 Hz")[0]


def test_the_row_is_shown_with_its_source_and_date():
    flag = use_flag(TRIP, 9.0, rows({"from": "Land A", "to": "Land B", "outcome": "no"}))
    assert "letter 17" in flag.words
    assert "2026-05-01" in flag.words
