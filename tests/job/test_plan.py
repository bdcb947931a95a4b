"""Plans of a job: the brief's questions, and files that other programs read back with the same geometry."""

import csv
import json
import math

import numpy as np
import pytest
import shapely

from groundglow.cli.main import app
from groundglow.errors import InputError
from groundglow.frames.vectors import read_geojson
from groundglow.job.chain import run_steps, step_states
from groundglow.job.folder import open_job
from groundglow.job.plan import plan_question

pyogrio = pytest.importorskip("pyogrio")
from typer.testing import CliRunner  # noqa: E402

BRIEF = """
title = "Meadow"
[site]
name = "Meadow"
outline = "site.geojson"
[[plan]]
name = "survey"
camera = "demo-640"
aircraft = "demo-quad-work"
sampling = "8 cm"
ground_height = "430 m"
wind = "3 m/s"
"""


def site(lon=8.0, lat=47.0, size=0.002, middle=None):
    """A rectangle with a hole, a no-fly area and a take-off point, drawn with its border clockwise."""
    wide = size / math.cos(math.radians(lat))

    def at(u, v):
        return [(lon + u * wide + 180) % 360 - 180, lat + v * size]

    def ring(a, b, c, d):
        return [at(a, b), at(a, d), at(c, d), at(c, b), at(a, b)]

    return {"type": "FeatureCollection", "features": [
        {"type": "Feature", "properties": {"name": "meadow"},
         "geometry": {"type": "Polygon", "coordinates": [ring(-0.5, -0.5, 0.5, 0.5), ring(-0.3, -0.3, -0.1, 0.1)]}},
        {"type": "Feature", "properties": {"use": "no-fly"},
         "geometry": {"type": "Polygon", "coordinates": [ring(0.1, 0.0, 0.2, 0.2)]}},
        {"type": "Feature", "properties": {"name": "gate", "use": "take-off"},
         "geometry": {"type": "Point", "coordinates": at(-0.6, -0.6)}},
    ]}  # fmt: skip


def make(folder, brief=BRIEF, **place):
    folder.mkdir()
    (folder / "brief.toml").write_text(brief)
    (folder / "site.geojson").write_text(json.dumps(site(**place)))
    return open_job(folder)


@pytest.fixture(
    scope="module", params=[(8.0, 47.0), (180.0, -17.0), (16.0, 78.0)], ids=["plain", "antimeridian", "78N"]
)
def flown(request, tmp_path_factory):
    lon, lat = request.param
    job = make(tmp_path_factory.mktemp("jobs") / "job", lon=lon, lat=lat)
    run_steps(job, "plan")
    return job, plan_question(job, 0)


def metres(places, plan):
    """Longitudes and latitudes (n, 2) to the plan's plane, by the projection library itself."""
    pyproj = pytest.importorskip("pyproj")
    o = plan.origin
    to = pyproj.Proj(f"+proj=tmerc +lat_0={o.lat_deg!r} +lon_0={o.lon_deg!r} +k=1 +ellps=WGS84")
    return np.column_stack(to(*np.asarray(places)[:, :2].T))


def test_the_plan_is_made_kept_and_met(flown):
    job, plan = flown
    assert plan.met, plan.unmet
    assert next(s for s in step_states(job) if s.step == "plan").state == "done"
    assert run_steps(job, "plan")[0].kept == 1
    # The site is 0.002 degrees of latitude square, by the length of a degree 222.4 m, less the hole of 0.2 x 0.4.
    assert plan.proof.area == pytest.approx(222.4**2 * 0.92, rel=0.01)


@pytest.mark.parametrize(
    ("file", "layer"), [("plan-1.kml", "lines"), ("plan-1.gpkg", "lines"), ("plan-1.geojson", None)]
)
def test_lines_read_back_by_gdal_to_a_centimetre(flown, file, layer):
    job, plan = flown
    _, _, geometry, _ = pyogrio.raw.read(job.out / "plan" / file, layer=layer)
    shapes = [s for s in shapely.from_wkb(geometry) if s.geom_type in ("LineString", "MultiLineString")]
    assert len(shapes) >= len(plan.lines) > 0
    for line, shape in zip(plan.lines, shapes, strict=False):
        found = shapely.get_coordinates(shape, include_z=True)
        places = metres(found, plan)
        assert np.abs(places[[0, -1]] - line.nodes[[0, -1], :2]).max() < 0.01
        assert shapely.Point(places.mean(axis=0)).distance(shapely.LineString(line.nodes[:, :2])) < 0.01
        if file != "plan-1.geojson":
            assert np.abs(found[[0, -1], 2] - line.nodes[[0, -1], 2]).max() < 0.01
        else:
            assert np.isnan(found[:, 2]).all()  # its third coordinate would be above the ellipsoid
    assert (np.abs(shapely.get_coordinates(shapes)[:, 0]) <= 180.0).all()


def test_routes_of_gpx_read_back_with_heights(flown):
    job, plan = flown
    path = job.out / "plan" / "plan-1.gpx"
    meta, _, geometry, columns = pyogrio.raw.read(path, layer="route_points")
    height = columns[list(meta["fields"]).index("ele")]
    wanted = [w for s in plan.sorties for w in s.waypoints]
    assert len(geometry) == len(wanted)
    places = metres(shapely.get_coordinates(shapely.from_wkb(geometry)), plan)
    assert np.abs(places - [(w.x, w.y) for w in wanted]).max() < 0.01
    assert np.abs(height - [w.z for w in wanted]).max() < 0.01


def test_kml_says_what_its_heights_mean(flown):
    job, plan = flown
    text = (job.out / "plan" / "plan-1.kml").read_text()
    assert text.count("<altitudeMode>absolute</altitudeMode>") >= len(plan.lines)
    assert "<altitudeMode>clampToGround</altitudeMode>" in text  # borders


def test_rings_of_geojson_turn_as_rfc_7946_says(flown):
    """Section 3.1.6: the border counter-clockwise, holes clockwise; 3.1.9: nothing crosses the antimeridian."""
    job, _ = flown
    features = read_geojson(job.out / "plan" / "plan-1.geojson")
    areas = [f.geometry for f in features if f.geometry["type"] in ("Polygon", "MultiPolygon")]
    assert areas
    for area in areas:
        for rings in [area["coordinates"]] if area["type"] == "Polygon" else area["coordinates"]:
            turns = [shapely.LinearRing(r).is_ccw for r in rings]
            assert turns == [True] + [False] * (len(rings) - 1)
            assert np.ptp(np.array(rings[0])[:, 0]) < 1.0


def test_waypoints_have_pitch_heading_and_both_heights(flown):
    job, plan = flown
    with (job.out / "plan" / "waypoints-1.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == sum(len(s.waypoints) for s in plan.sorties)
    on_line = next(r for r in rows if r["kind"] == "line")
    assert float(on_line["pitch_deg"]) == -90.0
    assert float(on_line["above_ground_m"]) == pytest.approx(plan.height, abs=0.01)
    assert float(on_line["height_m"]) == pytest.approx(430.0 + plan.height, abs=0.01)
    assert (rows[0]["kind"], rows[-1]["kind"]) == ("take-off", "landing")


def test_the_command_line_answers_as_the_library_does(flown):
    job, plan = flown
    result = CliRunner().invoke(app, ["plan", str(job.root), "--json"])
    assert result.exit_code == 0
    said = json.loads(result.stdout)["plans"][0]
    assert said["frames"] == plan.frames
    assert said["height_m"] == pytest.approx(plan.height)
    shown = CliRunner().invoke(app, ["plan", str(job.root)])
    assert max(map(len, shown.stdout.splitlines())) <= 80
    assert "Local aviation rules" in shown.stdout


def test_a_site_by_itself_is_planned_and_written(tmp_path):
    path = tmp_path / "site.geojson"
    path.write_text(json.dumps(site()))
    args = ["plan", str(path), "--camera", "demo-640", "--aircraft", "demo-quad-work", "--height", "70m",
            "--out", str(tmp_path / "out"), "--quiet"]  # fmt: skip
    assert CliRunner().invoke(app, args).exit_code == 0
    assert len(list((tmp_path / "out").iterdir())) == 10


def test_what_is_missing_is_told(tmp_path):
    for i, (old, new, told) in enumerate([
        ('camera = "demo-640"', "", "no such camera|several|does not|camera"),
        ('sampling = "8 cm"', "", "one of sampling"),
        ('sampling = "8 cm"', 'sampling = "8"', "has no unit"),
        ('sampling = "8 cm"', "pixels_on_target = 4", "target_size"),
        ('aircraft = "demo-quad-work"', "", "aircraft is missing"),
        ('wind = "3 m/s"', 'zone = "wood"', "called 'wood'"),
    ]):  # fmt: skip
        job = make(tmp_path / f"job{i}", BRIEF.replace(old, new))
        if i == 0:
            assert plan_question(job, 0).kit.endswith("demo-quad-work")
            continue
        with pytest.raises(InputError, match=told):
            plan_question(job, 0)


def test_a_job_without_a_question_of_plan_says_so(tmp_path):
    job = make(tmp_path / "job", BRIEF.split("[[plan]]")[0] + '[[question]]\nname = "warm"\nsmallest_m = 1\n')
    result = CliRunner().invoke(app, ["plan", str(job.root)])
    assert result.exit_code == 2
    assert "asks nothing of plan" in result.output


def test_rules_in_the_job_win_and_a_change_makes_the_plan_stale(tmp_path):
    job = make(tmp_path / "job")
    run_steps(job, "plan")
    before = plan_question(job, 0)
    (job.root / "rules").mkdir()
    (job.root / "rules/flying.toml").write_text(
        '[rules]\nside_overlap = { value = 0.5, unit = "", source = "our handbook" }\n'
    )
    assert next(s for s in step_states(job) if s.step == "plan").state == "stale"
    run_steps(job, "plan")
    after = plan_question(job, 0)
    assert before.side_overlap == pytest.approx(0.7, abs=0.03)
    assert after.side_overlap == pytest.approx(0.5, abs=0.03)
    assert len(after.lines) < len(before.lines)
    (job.root / "rules/flying.toml").write_text("[rules]\nsidelap = 0.5\n")
    with pytest.raises(InputError, match="'sidelap' is not known"):
        plan_question(job, 0)


def test_rules_of_a_folder_hold_for_a_site_file(tmp_path):
    (tmp_path / "site.geojson").write_text(json.dumps(site()))
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/flying.toml").write_text(
        '[rules]\nforward_overlap = { value = 0.6, unit = "", source = "our handbook" }\n'
    )
    said = ["plan", str(tmp_path / "site.geojson"), "--camera", "demo-640", "--aircraft", "demo-quad-work",
            "--sampling", "8cm", "--json"]  # fmt: skip
    plain, own = (json.loads(CliRunner().invoke(app, [*said, *more]).stdout)["plans"][0]
                  for more in ([], ["--rules", str(tmp_path / "mine")]))  # fmt: skip
    assert plain["forward_overlap"] == pytest.approx(0.8, abs=0.01)
    assert own["forward_overlap"] == pytest.approx(0.6, abs=0.01)
    assert own["frames"] < plain["frames"]
