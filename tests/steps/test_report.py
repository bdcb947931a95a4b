"""The report: says what it must, shows every number with its interval, and comes out with the same bytes again."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import numpy as np
import pypdfium2
import pytest
import shapely
from PIL import Image

from groundglow.errors import GroundglowError, InputError
from groundglow.paper.drawing import round_down
from groundglow.records.brief import Brief
from groundglow.records.decision import Standing
from groundglow.records.finding import Candidate, Finding, Findings, Support, View
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog, LogEntry, Origin
from groundglow.records.report import ReportOptions
from groundglow.records.tie import Registration
from groundglow.steps.report import COLUMNS, ReportInputs, contents, departure_picture, finding_rows, site_map, typeset

FLIGHT = "2026-04-16/overview"
CANDIDATE = Candidate(
    "f_003.tif", "spot", 1, 304.0, 204.0, (299, 199, 310, 209), 80, 299.5, 298.5, 293.0, 5.5, 0.3, 2.1, 11.0, False, "",
    ((299.0, 199.0), (310.0, 199.0), (310.0, 209.0)),
)  # fmt: skip
FINDING = Finding(
    id="ab12cd34", number=1, question="hot cells", flight=FLIGHT, shape_kind="spot", sign=1, unit="K",
    frame="f_003.tif", box=CANDIDATE.box, area_px=80, area_m2=0.24, size_m=0.55, lon_deg=20.9, lat_deg=47.3, x=10.0,
    y=12.0, position_sd_m=2.6, peak=299.5, mean=298.5, mean_low=294.3, mean_high=302.7, background=293.0, rise=5.5,
    rise_low=4.9, rise_high=6.1, contrast_noise=11.2, support=Support.DETECTED_ONLY, support_reason="under 10 x 10 px",
    status="found", reason="", cause="departure, cause not judged", in_view=5, views=(View(CANDIDATE, 1.0, 2.0, 3.0),),
)  # fmt: skip
GONE = replace(FINDING, number=0, status="dismissed", reason="moves with the camera")


def log() -> FlightLog:
    pose = Pose(np.array([5.0, 9.0, 60.0]), np.diag([1.0, -1.0, -1.0]), np.ones(3), np.full(3, 0.02))
    entries = (
        LogEntry("f_003.tif", "x/f_003.tif", 1776330000.0, pose, "", {"median": 7000.0}),
        LogEntry("f_004.tif", "x/f_004.tif", 1776330002.0, pose, "truncated", {}),
    )
    return FlightLog(FLIGHT, (512, 640), "counts", 1083.3, Origin(20.9, 47.3, 88.0), 1.0, 0.0, 1.6, entries, ())


def inputs(*findings: Finding, **brief: Any) -> ReportInputs:
    asked = {
        "title": "Survey #1 *of* $x$",
        "site": {"name": "Heron Field"},
        "question": [{"name": "hot cells"}],
        **brief,
    }
    ties = Registration(FLIGHT, "counts", (), (), {}, 0.5, ())
    return ReportInputs(
        Brief.parse(asked, "brief"), (log(),), (ties,), Findings(findings, ()), version="9.9",
        methods={FLIGHT: {"absolute": True, "lines": [], "assumed": ["cloud"], "budget": [], "references": []}},
    )  # fmt: skip


def text_of(pdf: bytes) -> str:
    return "\n".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))


def printed(made: ReportInputs) -> bytes:
    return typeset({**contents(made), "pictures": []}, {})


def test_the_same_inputs_give_the_same_bytes() -> None:
    assert printed(inputs(FINDING)) == printed(inputs(FINDING))


def test_markup_in_a_title_is_text_and_nothing_else() -> None:
    assert "Survey #1 *of* $x$" in text_of(printed(inputs()))


def test_a_finding_shows_rise_temperature_and_place_each_with_its_doubt() -> None:
    text = " ".join(text_of(printed(inputs(FINDING))).split())
    for said in (
        "+5.5 K",
        "+4.9 to +6.1 K",
        "25.4 °C (21.2 °C to 29.6 °C)",
        "± 5 m",
        "detected only",
        "under 10 x 10 px",
    ):
        assert said in text


def test_what_was_dismissed_set_aside_and_assumed_is_told() -> None:
    text = " ".join(text_of(printed(inputs(GONE))).split())
    assert "moves with the camera" in text
    assert "f_004.tif" in text
    assert "truncated" in text
    assert "cloud" in text


def test_live_parts_bring_their_caution() -> None:
    assert "licensed persons" in text_of(printed(inputs(limits={"live_parts": True})))
    assert "licensed persons" not in text_of(printed(inputs()))


def test_counts_are_never_dressed_as_temperatures() -> None:
    counts = replace(FINDING, unit="counts", lon_deg=None, lat_deg=None, area_m2=None)
    (row,) = finding_rows([counts])
    assert row["temperature_c"] is None
    assert "relative only" in row["no_temperature_because"]
    text = text_of(printed(inputs(counts)))
    assert "Relative values only" in text
    assert "°C" not in text


def test_the_table_keeps_its_columns_with_and_without_findings() -> None:
    assert tuple(finding_rows([FINDING])[0]) == COLUMNS
    assert finding_rows([]) == []


def test_a_refusal_of_the_typesetter_is_passed_on() -> None:
    with pytest.raises(GroundglowError, match="could not be typeset"):
        typeset({"title": "x"}, {})


def frame() -> np.ndarray:
    values = np.full((512, 640), 293.0, np.float32)
    values[199:209, 299:310] += 6
    return values


def picture(values: np.ndarray, box: tuple[int, int, int, int] = CANDIDATE.box) -> np.ndarray:
    made = departure_picture(values, box, 293.0, unit="K", number=7, metres_a_pixel=0.055)
    return np.asarray(Image.open(io.BytesIO(made)).convert("RGB")).astype(int)


def test_warmer_and_cooler_are_told_apart_by_colour_and_background_is_pale() -> None:
    values = frame()
    warm, cool = picture(values), picture(586.0 - values)
    middle = (warm.shape[0] // 2, (warm.shape[1] - 64) // 2)
    assert warm[middle][0] > warm[middle][2]
    assert cool[middle][2] > cool[middle][0]
    assert warm[10, 10].min() > 180


@pytest.mark.parametrize("box", [(0, 0, 4, 4), (636, 508, 640, 512), (0, 0, 640, 512)])
def test_a_finding_at_any_edge_of_the_frame_gets_a_picture(box: tuple[int, int, int, int]) -> None:
    assert picture(frame(), box).std() >= 0


def test_a_frame_with_holes_gets_a_picture() -> None:
    values = frame()
    values[::7] = np.nan
    assert picture(values).shape[2] == 3


@pytest.mark.parametrize(("value", "length"), [(0.7, 0.5), (1.0, 1.0), (4.9, 2.0), (5.0, 5.0), (99.0, 50.0)])
def test_scale_bars_have_round_lengths(value: float, length: float) -> None:
    assert round_down(value) == pytest.approx(length)


def test_the_map_shows_zones_with_holes_stations_and_findings() -> None:
    ring = shapely.Polygon(shapely.box(0, 0, 30, 20).exterior, [shapely.box(5, 5, 9, 9).exterior])
    drawn = site_map((log(),), (FINDING,), {"roof & <pond>": ring})
    assert drawn is not None
    assert "roof &amp; &lt;pond&gt;" in drawn
    assert drawn.count(" Z") >= 2
    assert ">1</text>" in drawn


def test_there_is_no_map_without_places() -> None:
    nowhere = replace(log(), entries=())
    assert site_map((nowhere,), (), {}) is None


def with_options(made: ReportInputs, **said: Any) -> ReportInputs:
    return replace(made, options=ReportOptions.parse(said, "report.toml"))


def words_of(made: ReportInputs) -> str:
    return " ".join(text_of(printed(made)).split())


def test_the_report_says_with_which_options_it_was_made_and_nothing_when_as_it_comes() -> None:
    assert "options of its own" not in words_of(inputs(FINDING))
    said = words_of(with_options(inputs(FINDING), paper="Letter", reference="R-17 <b>#x$"))
    assert "Made with these options of its own: reference: R-17 <b>#x$; paper: Letter." in said


def test_who_hands_it_over_stands_at_the_top_as_text() -> None:
    said = words_of(with_options(inputs(), business="*Kestrel* & Co (invented)", reference="#7", author="A. Example"))
    top = said[: said.index("What was asked")]
    assert "by A. Example" in top
    assert "*Kestrel* & Co (invented) · reference #7" in top


@pytest.mark.parametrize(
    ("option", "words"), [("method", "How the values were made"), ("pictures", "Pictures show departure")]
)
def test_a_part_is_left_out_when_it_is_not_wanted(option: str, words: str) -> None:
    assert words in words_of(inputs(FINDING))
    without = words_of(with_options(inputs(FINDING), **{option: False}))
    assert words not in without
    assert "+4.9 to +6.1 K" in without, "an interval goes with every rise all the same"


def test_fahrenheit_and_kelvin_are_those_of_the_definition() -> None:
    """25.35 degrees Celsius are 77.63 F and 298.5 K (BIPM, SI brochure, 9th edition, 2.3.1; F by definition)."""
    methods = {FLIGHT: {"lines": [], "assumed": ["air 20.0 °C"], "budget": [], "references": []}}
    made = replace(inputs(FINDING), methods=methods, conditions={"2026-04-16": ["Air temperature: -5.0 to 10.0 °C"]})
    said = words_of(with_options(made, temperature="F"))
    for told in ("77.6 °F (70.1 °F to 85.2 °F)", "+9.9 °F", "+8.8 to +11.0 °F", "air 68.0 °F", "23.0 to 50.0 °F"):
        assert told in said
    assert "°C" not in said
    kelvin = words_of(with_options(made, temperature="K"))
    for told in ("298.5 K (294.3 K to 302.7 K)", "+5.5 K", "air 293.1 K"):
        assert told in kelvin


@pytest.mark.parametrize(("paper", "points"), [("A4", (595.28, 841.89)), ("Letter", (612.0, 792.0))])
def test_paper_has_the_size_of_its_name(paper: str, points: tuple[float, float]) -> None:
    """A4 is 210 mm x 297 mm (ISO 216); Letter is 8.5 in x 11 in (ANSI/ASME Y14.1)."""
    (*_, page) = pypdfium2.PdfDocument(printed(with_options(inputs(), paper=paper)))
    assert page.get_size() == pytest.approx(points, abs=0.1)


GRADED = {
    "aa": Standing("accepted", grade="act at once", by="A", at="2026-05-02"),
    "bb": Standing("open", grade="no action", by="A", at="2026-05-02"),
    "dd": Standing("rejected", by="A", at="2026-05-02"),
}
MANY = (
    replace(FINDING, id="aa", number=1, question="kept one"),
    replace(FINDING, id="bb", number=2, question="calm one", support=Support.SUPPORTED),
    replace(FINDING, id="cc", number=3, question="bare one"),
    replace(FINDING, id="dd", number=4, question="refused one"),
    replace(GONE, id="ee", status="unconfirmed", question="lone one"),
    replace(GONE, id="ff", question="moving one"),
)


@pytest.mark.parametrize(
    ("said", "gone", "counted"),
    [
        ({}, set(), ""),
        ({"least_grade": "watch"}, {"calm one"}, "1 further place is left out of this report by choice (graded below"),
        ({"ungraded": False}, {"bare one"}, "1 further place is left out of this report by choice (not graded"),
        ({"least_grade": "watch", "ungraded": False}, {"calm one", "bare one"}, "2 further places are left out"),
        ({"least_support": "corrected"}, {"kept one", "bare one"}, "2 further places are left out"),
        ({"rejected": False}, {"refused one"}, ""),
        ({"unconfirmed": False}, {"lone one"}, ""),
        ({"dismissed": False}, {"moving one"}, ""),
    ],
)
def test_findings_go_in_by_choice_and_what_is_left_out_is_counted(
    said: dict[str, Any], gone: set[str], counted: str
) -> None:
    told = words_of(with_options(replace(inputs(*MANY), reviews=GRADED), **said))
    assert {f.question for f in MANY if f.question not in told} == gone
    assert (counted in told) if counted else ("left out of this report" not in told)


def test_a_report_that_leaves_all_out_does_not_say_that_nothing_was_found() -> None:
    said = words_of(with_options(inputs(FINDING), ungraded=False))
    assert "No place is told here. 1 further place is left out" in said
    assert "Nothing was found" not in said


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"least_grad": "watch"}, "least_grad is not a known field (did you mean least_grade?)"),
        ({"paper": "A3"}, "paper: input should be 'A4' or 'Letter', found 'A3'"),
        ({"temperature": "R"}, "temperature: input should be 'C', 'F' or 'K', found 'R'"),
        ({"least_grade": "bad"}, "least_grade: input should be"),
        ({"map": "perhaps"}, "map: input should be a valid boolean"),
        ({"reference": "x" * 121}, "reference: string should have at most 120 characters"),
        ({"business": "two\nlines"}, "business: string should match"),
    ],
)
def test_an_option_that_is_none_is_refused_by_name(said: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError) as refused:
        ReportOptions.parse(said, "report.toml")
    assert str(refused.value).startswith(f"report.toml: {told}")


def test_a_frame_that_sees_a_finding_twice_counts_once() -> None:
    """As an area and as a spot: "seen in 20 of 10 frames" would be nonsense."""
    other = replace(CANDIDATE, frame="another.tif")
    twice = replace(FINDING, views=(View(CANDIDATE, 1.0, 2.0, 3.0),) * 2 + (View(other, 1.0, 2.0, 3.0),))
    assert (len(twice.views), twice.seen_in) == (3, 2)
