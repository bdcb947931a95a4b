"""Questions of plan that are renamed, that leave the ground open, that name a target, that ask for nothing."""

import json
from dataclasses import replace

import pytest
from typer.testing import CliRunner

from groundglow.cli.main import app
from groundglow.errors import InputError
from groundglow.job.chain import run_steps
from groundglow.job.inputs import brief_of
from groundglow.job.plan import plan_question
from groundglow.job.window import hour_of_plan

from .test_plan import BRIEF, make, site

HOUR = """
[[fit]]
name = "{name}"
target = "{target}"
date = "2026-05-02"
air_lowest = "8 C"
air_highest = "20 C"
"""


def _plans(job, *names):
    block = BRIEF[BRIEF.index("[[plan]]") :]
    blocks = "".join(block.replace('name = "survey"', f'name = "{name}"') for name in names)
    job.brief.write_text(BRIEF[: BRIEF.index("[[plan]]")] + blocks)


def _told(job):
    return {p.name: json.loads(p.read_text())["name"] for p in sorted((job.out / "plan").glob("plan-*.json"))}


def test_a_plan_renamed_dropped_or_named_twice_keeps_every_answer_that_is_asked_for(tmp_path):
    job = make(tmp_path / "job")
    _plans(job, "a", "b")
    run_steps(job, "plan")
    assert _told(job) == {"plan-1.json": "a", "plan-2.json": "b"}
    _plans(job, "renamed", "b")
    run_steps(job, "plan")
    assert _told(job) == {"plan-1.json": "renamed", "plan-2.json": "b"}
    _plans(job, "b")
    run_steps(job, "plan")
    assert _told(job) == {"plan-1.json": "b"}
    assert not list((job.out / "plan").glob("*-2.*"))
    _plans(job, "same", "same")
    run_steps(job, "plan")
    assert _told(job) == {"plan-1.json": "same", "plan-2.json": "same"}


def test_heights_over_ground_that_nobody_gave_are_above_it_and_say_so(tmp_path):
    """Written as above the sea they would lead an aircraft into any ground that is higher."""
    path = tmp_path / "site.geojson"
    path.write_text(json.dumps(site()))
    args = ["plan", str(path), "--camera", "demo-640", "--aircraft", "demo-quad-work", "--height", "70m"]
    for name, more, mode in (("open", [], "relativeToGround"), ("said", ["--ground-height", "430 m"], "absolute")):
        out = tmp_path / name
        done = CliRunner().invoke(app, [*args, *more, "--out", str(out)])
        assert done.exit_code == 0, done.output
        assert f"<altitudeMode>{mode}</altitudeMode>" in (out / "plan-1.kml").read_text()
        assert ("<ele>" in (out / "plan-1.gpx").read_text()) == (name == "said")
        assert ("Nobody said how high the ground is" in done.output) == (name == "open")


@pytest.mark.parametrize(
    ("block", "told"),
    [("", None), (HOUR.format(name="x", target="person"), "person-on-grass"),
     (HOUR.format(name="x", target="person") + HOUR.format(name="y", target="clamp"), None),
     (HOUR.format(name="x", target="person") + HOUR.format(name="survey", target="clamp"), "hot-clamp")],
    ids=["none", "the only one", "several", "of its name"],
)  # fmt: skip
def test_the_hour_on_a_card_is_of_the_question_that_belongs_to_the_plan(tmp_path, block, told):
    job = make(tmp_path / "job", BRIEF.replace("[[plan]]", f"{block}\n[[plan]]"))
    found = hour_of_plan(job.brief, brief_of(job).plan[0], plan_question(job, 0))
    assert (found and found.ask.pair.id) == told


def test_a_plan_names_its_target_and_one_that_is_not_asked_of_is_an_error(tmp_path):
    both = HOUR.format(name="x", target="person") + HOUR.format(name="y", target="clamp")
    named = BRIEF.replace('name = "survey"', 'name = "survey"\ntarget = "clamp"')
    job = make(tmp_path / "job", named.replace("[[plan]]", f"{both}\n[[plan]]"))
    plan = plan_question(job, 0)
    found = hour_of_plan(job.brief, brief_of(job).plan[0], replace(plan, sorties=()))
    assert found is not None
    assert found.ask.pair.id == "hot-clamp"
    bare = make(tmp_path / "bare", named)
    with pytest.raises(InputError, match=r"in no \[\[fit\]\]"):
        hour_of_plan(bare.brief, brief_of(bare).plan[0], plan)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [('sampling = "8 cm"', 'sampling = "8 cm"\npixels_on_target = 4\ntarget_size = "0.4 m"', "ask for the same"),
     ('wind = "3 m/s"', 'speed = "0 m/s"', "speed is 0 m/s; allowed above 0"),
     ('wind = "3 m/s"', 'climb = "0 m/s"', "climb is 0 m/s; allowed above 0"),
     ('wind = "3 m/s"', 'face_height = "4 m"', "face_height is of a face"),
     ('wind = "3 m/s"', 'flown_at = "2026-05-02T09:00"', "no time zone"),
     ('wind = "3 m/s"', 'take_off = "95, 8"', "latitude comes first"),
     ('wind = "3 m/s"', 'sweep_width = "20 m"\nprobability = "0 %"', "probability 0")],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_in_words(tmp_path, old, new, told):
    job = make(tmp_path / "job", BRIEF.replace(old, new))
    with pytest.raises(InputError, match=told):
        plan_question(job, 0)


def test_points_are_planned_one_by_one_and_a_take_off_is_a_point(tmp_path):
    job = make(tmp_path / "job")
    features = json.loads((job.root / "site.geojson").read_text())["features"]
    home = features[2]
    points = [{"type": "Feature", "properties": {"name": n}, "geometry": {"type": "Point", "coordinates": [8.0, y]}}
              for n, y in (("mast", 47.0), ("tower", 47.001))]  # fmt: skip
    for found, told in (
        ([*points, home], "2 points"),
        ([features[0], {**home, "geometry": {"type": "LineString", "coordinates": [[8, 47], [8.001, 47]]}}], "a point"),
    ):
        (job.root / "site.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": found}))
        with pytest.raises(InputError, match=told):
            plan_question(job, 0)


def test_a_sortie_longer_than_the_working_day_is_told(tmp_path):
    job = make(tmp_path / "job", BRIEF.replace('wind = "3 m/s"', 'wind = "3 m/s"\nhours_a_day = 0.05'))
    plan = plan_question(job, 0)
    assert any("3 min are worked a day" in reason for reason in plan.unmet)
