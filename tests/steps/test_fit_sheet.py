"""The sheet for a client: two pages whatever the answer, all that must be said, in the reader's units, same bytes."""

import io
import re
from dataclasses import replace
from datetime import date

import pypdfium2
import pytest
from PIL import Image

from groundglow.kit.fleet import catalogue
from groundglow.kit.place_of_use import UseRow, UseTable, use_table
from groundglow.paper.measures import Measures
from groundglow.records.brief import FitQuestion, Site
from groundglow.steps.fit.ask import Setting, ask_of
from groundglow.steps.fit.card import limits_card
from groundglow.steps.fit.card_sheet import card_contents, card_sheet
from groundglow.steps.fit.charts import (
    Optics,
    geometry_chart,
    needed_pixels,
    optics_of,
    pixels_on_target,
    width_of_ground,
)
from groundglow.steps.fit.findings import fit_findings
from groundglow.steps.fit.matrix import kit_matrix
from groundglow.steps.fit.matrix_sheet import matrix_contents, matrix_sheet
from groundglow.steps.fit.outlook import kits_to_show, look_of, looks_of, seen_from
from groundglow.steps.fit.sheet import Heading, recommendation_sheet, sheet_contents, sheet_pictures
from groundglow.steps.fit.telling import answer_words, hours_words, question_words, turn_words, unfit_words, why_words

FLEET = catalogue()
KITS = tuple(FLEET.combinations())
SITE = Setting(site=Site(name="Heron Field", lon_deg=20.9, lat_deg=47.3))
HEADING = Heading("Which kit #1 *for* $x$", "Heron Field", "the grid operator", "the survey desk", date=(2026, 4, 16),
                  version="9.9")  # fmt: skip

CLAMP = FitQuestion(target="clamp", task="measure", accuracy="5 K", of="rise", distance="25 m", live_parts=True)
ABROAD = FitQuestion(
    name="Cattle on the far pasture", target="cattle", area="60 ha", highest_frame_rate="9 Hz", bought_in="Land A",
    used_in="Land B", date="2026-05-03", people_near=True,
)  # fmt: skip
TOO_FAR = FitQuestion(target="insulator", task="identify", probability="95 %", distance="400 m")


def found(question, kits=KITS, **more):
    return fit_findings(ask_of(question, SITE), kits, **more)


@pytest.fixture(scope="module")
def clamp():
    return found(CLAMP)


@pytest.fixture(scope="module")
def abroad():
    return found(ABROAD, owned=(KITS[0],), table=use_table())


@pytest.fixture(scope="module")
def too_far():
    return found(TOO_FAR)


@pytest.fixture(scope="module")
def printed(clamp, abroad, too_far):
    every = {"clamp": clamp, "abroad": abroad, "too far": too_far, "one kit": found(CLAMP, KITS[:1])}
    return {name: recommendation_sheet(f, HEADING) for name, f in every.items()}


def text_of(pdf):
    pages = [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(pdf)]
    return re.sub(r"\s+", " ", " ".join(pages))


# ---- two pages -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["clamp", "abroad", "too far", "one kit"])
def test_every_answer_takes_two_pages(printed, name):
    assert len(pypdfium2.PdfDocument(printed[name])) == 2


def test_the_card_of_a_kit_is_one_page():
    assert len(pypdfium2.PdfDocument(card_sheet(limits_card(KITS[0])))) == 1


def test_two_pages_hold_more_than_usual_too(abroad):
    long = replace(abroad, assumed=abroad.assumed * 6, cautions=abroad.cautions * 4)
    assert len(pypdfium2.PdfDocument(recommendation_sheet(long, HEADING))) == 2


def test_same_findings_give_the_same_bytes(clamp, printed):
    assert recommendation_sheet(clamp, HEADING) == printed["clamp"]


def test_sheet_says_question_answer_why_assumptions_and_cautions(printed, clamp):
    said = text_of(printed["clamp"])
    for heading in ("The question", "The answer", "Why", "What is fit, best first", "What is not, and why",
                    "What would change the answer", "How to record", "What was assumed", "Cautions"):  # fmt: skip
        assert heading in said
    assert clamp.best.combination.camera.name in said
    assert "Live parts" in said
    assert "not a verdict" in said


def test_text_is_never_read_as_markup(printed):
    assert "Which kit #1 *for* $x$" in text_of(printed["clamp"])


def test_place_of_use_informs_and_never_decides(printed, abroad):
    said = text_of(printed["abroad"])
    assert "ask. No row of your table holds from Land A to Land B" in said
    assert said.count("Place of use") == 1
    assert said.count("Only the competent authority decides") == 1
    assert "equal to or less than 9 Hz" in said
    assert "Place of use" not in text_of(printed["clamp"])  # neither rate nor places matter there


def test_a_row_that_says_no_makes_nothing_unfit(abroad):
    row = UseRow(**{"from": "Land A", "to": "Land B"}, outcome="no", source="letter 17", date=date(2026, 5, 1))
    refused = found(ABROAD, owned=(KITS[0],), table=UseTable(row=(row,)))
    assert [a.fit for a in refused.answers] == [a.fit for a in abroad.answers]
    assert [a.rank for a in refused.answers] == [a.rank for a in abroad.answers]
    assert any("your table says no" in flag for a in refused.answers for flag in a.flags)


def test_strip_of_frames_is_there_where_frame_rates_matter(clamp, abroad):
    assert "strip.png" in sheet_pictures(abroad)
    assert "strip.png" not in sheet_pictures(clamp)


TOLD = ("question", "why", "unfit", "turns", "recording_notes", "assumed", "cautions")
#: A number with a unit that is turned into feet and the like.
METRIC_UNIT = re.compile(r"\d (?:m|cm|m/s|m²|ha|km²?|°C|K|k?g)(?![\w/²])")


def test_feet_all_through(abroad):
    measures = Measures("ft")
    heading = replace(HEADING, measures=measures)
    data = sheet_contents(abroad, heading, pictures=dict.fromkeys(("views.png", "charts.png"), b""))
    words = [data["answer"], *(line for part in TOLD for line in data[part])]
    said = " ".join(words) + " ".join(cell for row in data["fit"] for cell in row)
    assert all(unit in said for unit in (" ft", " mph", " °F", " acres", " oz"))
    assert not METRIC_UNIT.search(said), METRIC_UNIT.search(said)


# ---- plain words -----------------------------------------------------------------------------------


def test_question_is_told_as_it_was_asked(clamp):
    said = " ".join(question_words(clamp.ask))
    assert (
        "measure the rise of a cable clamp over a like thing beside it, to ±5 K (95 %), from the side, at 25 m" in said
    )
    assert "live parts" in said


def test_answer_says_yes_with_the_kit_and_no_with_the_nearest(clamp, too_far):
    assert answer_words(clamp).startswith(f"Yes: {clamp.best.combination.camera.name}")
    assert "from 25 m, standing still" in answer_words(clamp)
    assert answer_words(too_far).startswith(f"No: none of the {len(KITS)} combinations")
    assert "pixels" in answer_words(too_far)


def test_why_is_the_reasons_of_an_unfit_kit_and_the_figures_of_a_fit_one(clamp, too_far):
    assert any("95 % interval" in line for line in why_words(clamp.ask, clamp.best))
    assert [line.split(":")[0].lower() for line in why_words(too_far.ask, too_far.best)] == [
        reason.kind for reason in too_far.best.reasons
    ]


def test_unfit_ones_are_counted_by_reason_and_shown_once_a_kind(clamp):
    lines = unfit_words(clamp.answers)
    unfit = [a for a in clamp.answers if not a.fit]
    assert lines[0].startswith(f"{len(unfit)} are unfit")
    mounts = sum(any(r.kind == "mount" for r in a.reasons) for a in unfit)
    assert f"mount {mounts}" in lines[0]
    assert len(lines) <= 5


def test_what_would_turn_the_answer_is_told_for_each(clamp):
    assert len(turn_words(clamp)) == len(clamp.turns)
    assert "would stop being so" in turn_words(clamp)[0]


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        ([], "place or date not given: hours not told"),
        ([True] * 24, "all 24 hours"),
        ([False] * 24, "none of the 24 hours"),
        ([h in (5, 6, 7, 20) for h in range(24)], "4 of 24 hours (5 to 7, 20)"),
    ],
)
def test_hours_are_told_as_ranges(hours, words):
    assert hours_words(hours) == words


# ---- views and charts ------------------------------------------------------------------------------


def test_views_show_the_probabilities_of_the_answer(clamp):
    seen = looks_of(clamp.ask, clamp.answers)
    assert look_of(seen[0]).probability == pytest.approx(clamp.best.at.probability)
    assert {look_of(s).distance for s in seen} == {25.0, 50.0}


def test_views_of_what_is_too_far_show_where_it_would_do(too_far):
    other = {look_of(s).distance for s in looks_of(too_far.ask, too_far.answers)} - {400.0}
    assert max(other) < 400.0


def test_kits_shown_differ_in_their_pixels_and_one_is_unfit(clamp):
    shown = kits_to_show(clamp.answers)
    assert len({round(a.combination.ifov, 5) for a, _ in shown}) == len(shown) == 3
    assert [a.fit for a, _ in shown] == [True, True, False]
    assert "(unfit)" in shown[2][1]


def test_a_farther_look_is_less_likely(clamp):
    near, far = (seen_from(clamp.ask, clamp.best.combination, d).answer.at.probability for d in (25.0, 75.0))
    assert far["recognise"] < near["recognise"]


def test_pixels_and_ground_of_640_by_12_um_behind_13_mm():
    """Pinhole geometry: 5.53846 cm a pixel and 35.4462 m across from 60 m."""
    camera = FLEET.cameras["demo-640"]
    optics = Optics(camera.detector, camera.lenses[0])
    assert pixels_on_target(optics, 1.0, 60.0) == pytest.approx(1 / 0.0553846, rel=1e-5)
    assert width_of_ground(optics, 60.0) == pytest.approx(35.4462, abs=1e-3)


def test_needed_pixels_at_one_half_are_the_published_ones(clamp):
    """Johnson 1958 with two pixels a line pair: 2, 8 and 12.8."""
    assert list(needed_pixels(replace(clamp.ask, probability=0.5)).values()) == pytest.approx([2, 8, 12.8], rel=1e-6)


def test_charts_are_drawn_the_same_again_and_name_each_lens_once(clamp):
    kits = [a.combination for a in clamp.answers]
    assert geometry_chart(clamp.ask, kits) == geometry_chart(clamp.ask, kits)
    names = [o.name for o in optics_of(kits)]
    assert len(names) == len(set(names)) <= 8
    picture = Image.open(io.BytesIO(geometry_chart(clamp.ask, kits, Measures("ft"))))
    assert picture.width > 2 * picture.height


# ---- matrix and card -------------------------------------------------------------------------------


def test_matrix_is_one_page_with_reasons_and_minutes():
    found = kit_matrix(tuple(FLEET.cameras.values()), tuple(FLEET.aircraft.values()), wind=3.0)
    data = matrix_contents(found, HEADING)
    cells = [cell for row in data["rows"] for cell in row["cells"]]
    assert len(cells) == len(FLEET.cameras) * len(FLEET.aircraft)
    for cell in cells:
        assert ("min" in cell["time"]) == cell["goes"]
        assert cell["goes"] or cell["words"]
    pdf = matrix_sheet(found, HEADING)
    assert pdf == matrix_sheet(found, HEADING)
    assert len(pypdfium2.PdfDocument(pdf)) == 1


def test_card_tells_each_target_and_task_in_the_readers_unit():
    card = limits_card(KITS[0], [ask_of(CLAMP).target])
    metres, feet = (card_contents(card, replace(HEADING, measures=Measures(unit)))["groups"] for unit in ("m", "ft"))
    assert [row[0] for row in metres[0]["rows"]] == ["detect", "recognise", "identify", "measure"]
    assert float(feet[0]["rows"][0][1]) == pytest.approx(float(metres[0]["rows"][0][1]) / 0.3048, rel=0.06)
    pdf = card_sheet(card, HEADING)
    assert "Largest distance, m" in text_of(pdf)
