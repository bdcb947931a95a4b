"""The REST interface as a client meets it: jobs, findings and decisions, files, the trail; on a job made by hand."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from tests.web.web_jobs import BRIEF, SITE, make_job, serving

KML = """<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark>
<name>roof</name><Polygon><outerBoundaryIs><LinearRing><coordinates>20.93,47.31,0 20.931,47.31,0 20.931,47.311,0
20.93,47.31,0</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>"""


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("shelf")
    make_job(root / "mill")
    (root / "no-job").mkdir()
    broken = root / "broken"
    broken.mkdir()
    (broken / "brief.toml").write_text("title = [", "utf-8")
    return root


@pytest.fixture(scope="module")
def client(shelf: Path) -> Iterator[httpx.Client]:
    with serving(shelf) as (client, _):
        yield client


def fault(answer: httpx.Response, status: int) -> str:
    assert answer.status_code == status, answer.text
    error = answer.json()["error"]
    assert error["status"] == status
    assert error["faults"]
    return error["message"]


def test_jobs_are_listed_with_their_sentence_and_a_broken_one_with_its_fault(client: httpx.Client) -> None:
    broken, mill = client.get("/api/jobs").json()["items"]
    assert mill["id"] == "mill"
    assert mill["sentence"].startswith("At Mill roof (invented), show leaks (spots warmer or cooler than around them")
    assert mill["findings"] == 20
    assert "brief.toml" in broken["fault"]
    assert client.get("/api/jobs/broken").status_code == 200
    assert "no job 'no-job'" in fault(client.get("/api/jobs/no-job"), 404)


def test_a_brief_is_checked_in_the_words_of_the_command_line(client: httpx.Client, tmp_path: Path) -> None:
    from groundglow.errors import InputError
    from groundglow.frames.specs import read_brief

    path = tmp_path / "brief.toml"
    path.write_text(
        'title = "x"\n[site]\nname = "m"\n[[question]]\nname = "a"\nsmallest_m = -1\nlargst_m = 2\n', "utf-8"
    )
    with pytest.raises(InputError) as told:
        read_brief(path)
    raw = {"title": "x", "site": {"name": "m"}, "question": [{"name": "a", "smallest_m": -1, "largst_m": 2}]}
    found = client.post("/api/briefs/check", json={"brief": raw}).json()
    assert not found["ok"]
    assert "; ".join(found["faults"]).replace("brief.toml", str(path)) == str(told.value)
    sound = client.post("/api/briefs/check", json={"brief": {**raw, "question": [{"name": "Leaks"}]}}).json()
    assert sound["ok"]
    assert sound["sentence"].startswith("At m, show leaks")


def test_a_job_is_made_from_a_form_and_read_by_the_command_line(client: httpx.Client, shelf: Path) -> None:
    from groundglow.job.folder import open_job
    from groundglow.job.inputs import brief_of, local_zones
    from groundglow.records.log import Origin

    brief = {"title": "New", "site": {"name": "Yard"}, "question": [{"name": "Hot clamps", "zone": "roof"}]}
    made = client.post("/api/jobs", json={"id": "yard 2", "brief": brief, "site": SITE})
    assert made.status_code == 201, made.text
    job = open_job(shelf / "yard 2")
    assert brief_of(job).site.outline == "site.geojson"
    assert list(local_zones(job, Origin(20.9, 47.3, 0.0))) == ["roof"]
    assert "already" in fault(client.post("/api/jobs", json={"id": "yard 2", "brief": brief}), 409)
    crossing = json.loads(json.dumps(SITE))
    crossing["features"][0]["geometry"]["coordinates"] = [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]]
    message = fault(client.post("/api/jobs", json={"id": "bad", "brief": brief, "site": crossing}), 422)
    assert "crosses itself" in message
    assert not (shelf / "bad").exists()


def test_a_site_is_read_from_kml_and_drawn_anew(client: httpx.Client, shelf: Path) -> None:
    kind = {"content-type": "application/vnd.google-earth.kml+xml"}
    read = client.post("/api/sites/read", content=KML, headers=kind).json()
    assert read["zones"] == ["roof"]
    assert read["bounds"] == pytest.approx([20.93, 47.31, 20.931, 47.311])
    assert read["area_m2"] == pytest.approx(0.5 * 75.60 * 111.18, rel=2e-3), (
        "degrees at 47.3 N on WGS 84, NGA.STND.0036"
    )
    said = '<ExtendedData><Data name="use"><value>no-fly</value></Data><Data name="surface"><value>water</value></Data>'
    said += '<Data name="presence"><value>0.25</value></Data></ExtendedData><Polygon>'
    kept = client.post("/api/sites/read", content=KML.replace("<Polygon>", said), headers=kind).json()
    properties = {"name": "roof", "use": "no-fly", "surface": "water", "presence": 0.25}
    assert kept["site"]["features"][0]["properties"] == properties
    assert kept["area_m2"] == 0.0, "nothing is flown over a no-fly area"
    wrong = KML.replace("<Polygon>", said.replace("no-fly", "swim"))
    assert "use is 'swim'" in fault(client.post("/api/sites/read", content=wrong, headers=kind), 422)
    entity = KML.replace("<kml", '<!DOCTYPE k [<!ENTITY a "aaaa">]><kml')
    assert "does not need" in fault(client.post("/api/sites/read", content=entity, headers=kind), 422)
    assert "allowed" in fault(client.post("/api/sites/read", content=b"x", headers={"content-type": "image/png"}), 415)
    shutil.copytree(shelf / "mill", shelf / "drawn")
    put = client.put("/api/jobs/drawn/site", content=KML, headers=kind)
    assert put.status_code == 200, put.text
    assert client.get("/api/jobs/drawn/site").json()["features"][0]["properties"]["name"] == "roof"


def test_the_brief_is_changed_and_files_outside_of_the_job_are_not_named(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "brief", 1)
    found = client.get("/api/jobs/brief/brief").json()
    assert found["toml"] == BRIEF
    brief = found["brief"] | {"title": "Roof after rain"}
    changed = client.put("/api/jobs/brief/brief", json={"brief": brief})
    assert changed.status_code == 200, changed.text
    assert client.get("/api/jobs/brief").json()["title"] == "Roof after rain"
    for name in ("../../x.geojson", "/etc/passwd", "a/../../b"):
        outside = {**brief, "site": {**brief["site"], "outline": name}}
        assert "own folder" in fault(client.put("/api/jobs/brief/brief", json={"brief": outside}), 422)


def test_findings_are_filtered_sorted_and_paged_by_the_server(client: httpx.Client) -> None:
    url = "/api/jobs/mill/findings"
    page = client.get(url, params={"limit": 7, "offset": 50}).json()
    assert (page["total"], len(page["items"]), page["items"][0]["number"]) == (60, 7, 51)
    assert page["counts"]["status"] == {"unconfirmed": 20, "dismissed": 20, "found": 20}
    some = client.get(url, params={"status": "found,unconfirmed", "question": "Leaks", "sort": "-rise", "limit": 500})
    rises = [f["rise"] for f in some.json()["items"]]
    assert rises == sorted(rises, reverse=True)
    assert {f["status"] for f in some.json()["items"]} == {"found", "unconfirmed"}
    assert {f["question"] for f in some.json()["items"]} == {"Leaks"}
    assert client.get(url, params={"bbox": "20.9,47.2,20.9000105,47.4"}).json()["total"] == 10
    assert client.get(url, params={"least_rise": 5.05}).json()["total"] == sum(
        f["rise"] >= 5.05 for f in all_of(client)
    )
    assert client.get(url, params={"text": "Seen thrice"}).json()["total"] == 12
    assert client.get(url, params={"frame": "f001.tif"}).json()["total"] == 2
    assert "allowed number" in fault(client.get(url, params={"sort": "colour"}), 422)
    assert "limit" in fault(client.get(url, params={"limit": 501}), 422)
    points = client.get("/api/jobs/mill/findings.geojson", params={"status": "found"}).json()["features"]
    assert len(points) == 20


def all_of(client: httpx.Client) -> list[dict[str, object]]:
    return client.get("/api/jobs/mill/findings", params={"limit": 500}).json()["items"]


def test_a_decision_is_kept_undone_and_brought_back(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "review", 5)
    url = "/api/jobs/review"
    said = {"action": "reject", "by": "A. Example", "note": "=a bird"}
    made = client.post(f"{url}/findings/00000003/decisions", json=said)
    assert made.status_code == 201, made.text
    assert made.json()["decision"] == 1
    graded = {"action": "regrade", "value": "watch", "by": "B. Example"}
    assert client.post(f"{url}/findings/00000003/decisions", json=graded).json()["decision"] == 2
    one = client.get(f"{url}/findings/00000003").json()
    assert (one["review"]["decision"], one["review"]["grade"], one["status"]) == ("rejected", "watch", "found")
    assert [d["action"] for d in one["history"]] == ["reject", "regrade"]
    assert client.get(f"{url}/findings", params={"decision": "rejected"}).json()["total"] == 1
    assert client.post(f"{url}/decisions/1/undo", json={"by": "B. Example"}).status_code == 201
    assert client.get(f"{url}/findings/00000003").json()["review"]["decision"] == "open"
    assert "already" in fault(client.post(f"{url}/decisions/1/undo", json={"by": "B"}), 409)
    assert client.post(f"{url}/decisions/3/undo", json={"by": "A"}).status_code == 201
    assert client.get(f"{url}/findings/00000003").json()["review"]["decision"] == "rejected"
    with (shelf / "review" / "findings.review.csv").open() as stream:
        rows = list(csv.DictReader(stream))
    assert [r["action"] for r in rows] == ["reject", "regrade", "undo", "undo"]
    assert rows[0]["note"] == "'=a bird", "a spreadsheet must not take a note for a formula"
    assert [e["what"] for e in client.get(f"{url}/audit").json()["items"]] == ["review"] * 4
    assert (shelf / "review" / "out" / "find" / "findings.json").read_text() == (
        make_job(shelf / "review-2", 5) / "out" / "find" / "findings.json"
    ).read_text(), "the machine's own findings stay as they are"


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"action": "regrade", "value": "huge", "by": "A"}, "no grade"),
        ({"action": "note", "by": "A"}, "value is empty"),
        ({"action": "accept", "by": "  "}, "by is empty"),
        ({"action": "accept"}, "by: field required"),
        ({"action": "burn", "by": "A"}, "action"),
        ({"action": "accept", "by": "A", "extra": 1}, "extra is not a known field"),
    ],
)
def test_a_faulty_decision_is_refused_and_nothing_is_written(
    client: httpx.Client, shelf: Path, said: dict[str, object], told: str
) -> None:
    assert told in fault(client.post("/api/jobs/mill/findings/00000001/decisions", json=said), 422)
    assert not (shelf / "mill" / "findings.review.csv").exists()
    assert "no finding" in fault(
        client.post("/api/jobs/mill/findings/ffff/decisions", json={"action": "accept", "by": "A"}), 404
    )


def test_files_are_listed_and_had_and_others_are_not(client: httpx.Client) -> None:
    listed = client.get("/api/jobs/mill/files").json()["items"]
    assert [f["path"] for f in listed] == ["brief.toml", "site.geojson", "out/find/findings.json"]
    got = client.get("/api/jobs/mill/files/out/find/findings.json")
    assert got.headers["content-disposition"].startswith("attachment")
    assert len(got.json()["items"]) == 60
    shown = client.get("/api/jobs/mill/files/brief.toml", params={"view": True})
    assert shown.headers["content-disposition"].startswith("inline")
    assert shown.headers["content-type"].startswith("text/plain")
    fault(client.get("/api/jobs/mill/files/ledger.sqlite"), 404)


def test_a_flight_comes_in_frame_by_frame(client: httpx.Client, shelf: Path, tmp_path: Path) -> None:
    import numpy as np
    import tifffile

    make_job(shelf / "flown", 1)
    spec = {"values": {"kind": "counts"}, "poses": {"source": "none"}, "camera": {"width_px": 8, "height_px": 6}}
    url = "/api/jobs/flown"
    made = client.post(f"{url}/flights", json={"visit": "2026-05-02", "flight": "first", "spec": spec})
    assert made.status_code == 201, made.text
    tifffile.imwrite(tmp_path / "a.tif", np.arange(48, dtype=np.uint16).reshape(6, 8))
    raw = (tmp_path / "a.tif").read_bytes()
    put = f"{url}/flights/2026-05-02/first/frames"
    assert client.put(f"{put}/a.tif", content=raw).status_code == 201
    assert "never written over" in fault(client.put(f"{put}/a.tif", content=raw), 409)
    assert "b.tif: cut short" in fault(client.put(f"{put}/b.tif", content=raw[:-40]), 422)
    assert "no reader" in fault(client.put(f"{put}/c.exe", content=raw), 422)
    frames = shelf / "flown" / "visits" / "2026-05-02" / "flights" / "first" / "frames"
    assert [p.name for p in frames.iterdir()] == ["a.tif"]
    assert "values.kind" in fault(
        client.post(f"{url}/flights", json={"visit": "v", "flight": "x", "spec": {"values": {"kind": "sound"}}}), 422
    )
    refused = client.post(f"{url}/flights", json={"visit": "v", "flight": "y", "spec": spec, "folder": "/etc"})
    assert "--frames" in fault(refused, 403)


def test_a_run_is_watched_to_its_end_and_its_faults_are_told(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "run", 1)
    started = client.post("/api/jobs/run/runs", json={"until": "check"}, headers={"groundglow-who": "A.%20Example"})
    assert started.status_code == 202, started.text
    events = []
    with client.stream("GET", f"/api/jobs/run/runs/{started.json()['id']}/events") as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        events = [line.removeprefix("event: ") for line in stream.iter_lines() if line.startswith("event: ")]
    assert (events[0], events[-1]) == ("progress", "end")
    ended = client.get(f"/api/jobs/run/runs/{started.json()['id']}").json()
    assert ended["state"] == "failed"
    assert "has no flight yet" in ended["message"]
    assert "job" not in ended
    assert [e["who"] for e in client.get("/api/jobs/run/audit").json()["items"]] == ["A. Example", "A. Example"]


def test_a_run_of_somebody_else_is_told_with_its_process(client: httpx.Client, shelf: Path) -> None:
    import os

    from groundglow.job.ledger import one_writer

    make_job(shelf / "held", 1)
    with one_writer(shelf / "held"):
        assert client.get("/api/jobs/held").json()["running"]
        message = fault(client.post("/api/jobs/held/runs", json={"until": "check"}), 409)
        assert f"process {os.getpid()}" in message
        brief = client.get("/api/jobs/held/brief").json()["brief"]
        assert "another run" in fault(client.put("/api/jobs/held/brief", json={"brief": brief}), 409)
        decided = client.post("/api/jobs/held/findings/00000001/decisions", json={"action": "accept", "by": "A"})
        assert decided.status_code == 201, "people may decide while a run is at work"
    assert not client.get("/api/jobs/held").json()["running"]


def test_options_of_the_report_are_kept_checked_and_written_where_the_command_line_reads_them(
    client: httpx.Client, shelf: Path
) -> None:
    from groundglow.job.folder import open_job
    from groundglow.job.reporting import change_options, options_of

    make_job(shelf / "told", 1)
    url, kept = "/api/jobs/told/report/options", shelf / "told" / "report.toml"
    as_it_comes = client.get(url).json()
    assert (as_it_comes["paper"], as_it_comes["least_grade"], as_it_comes["map"]) == ("A4", "", True)
    assert client.put(url, json={}).status_code == 200
    assert not kept.exists(), "what is as it comes needs no file"
    put = client.put(url, json={"paper": "Letter", "reference": "R-7"})
    assert put.status_code == 200, put.text
    assert put.json() == as_it_comes | {"paper": "Letter", "reference": "R-7"}
    kept.write_text("# ours\n" + kept.read_text("utf-8").replace("R-7", "R-8"), "utf-8")
    assert client.get("/api/jobs/told/report").json()["options"]["reference"] == "R-8"
    assert options_of(open_job(shelf / "told")).paper == "Letter"
    change_options(open_job(shelf / "told"), {"map": False})
    assert client.get(url).json()["map"] is False
    assert kept.read_text("utf-8").startswith("# ours\n")
    before = kept.read_bytes()
    message = fault(client.put(url, json={"paper": "A3", "colour": 1}), 422)
    assert "paper: input should be 'A4' or 'Letter'" in message
    assert "colour is not a known field" in message
    assert kept.read_bytes() == before
    assert "report options" in {e["what"] for e in client.get("/api/jobs/told/audit").json()["items"]}
    kept.write_text("paper = 3\n", "utf-8")
    told = client.get("/api/jobs/told/report").json()
    assert told["options"]["paper"] == "A4"
    assert told["fault"].startswith("report.toml: paper: input should be")
    schema = client.get("/api/openapi.json").json()
    assert schema["components"]["schemas"]["ReportOptions"]["properties"]["paper"]["enum"] == ["A4", "Letter"]


def test_a_brief_that_is_changed_keeps_the_comments_of_its_file(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "words", 1)
    path = shelf / "words" / "brief.toml"
    text = BRIEF.replace("lat_deg = 47.3", "lat_deg = 47.30   # of the gate").replace(
        '[[question]]\nname = "Vents"', '# what the owner fears\n[[question]]\nname = "Vents"  # two of them'
    )
    path.write_text(f"# asked by telephone\n{text}", "utf-8")
    brief = client.get("/api/jobs/words/brief").json()["brief"]
    brief["title"] = "Roof after rain"
    brief["limits"] |= {"live_parts": True}
    del brief["question"][0]
    brief["question"].append({"name": "Joints", "sign": "hot"})
    put = client.put("/api/jobs/words/brief", json={"brief": brief})
    assert put.status_code == 200, put.text
    written = path.read_text("utf-8")
    assert put.json()["toml"] == written
    assert written.startswith("# asked by telephone\n")
    for line in ("lat_deg = 47.30   # of the gate", 'name = "Vents"  # two of them', "live_parts = true"):
        assert line in written
    assert "Leaks" not in written
    assert "prepared_by" not in written, "what nobody said is not written"
    again = client.get("/api/jobs/words/brief").json()["brief"]
    assert [q["name"] for q in again["question"]] == ["Vents", "Joints"]
    assert again["title"] == "Roof after rain"


def test_a_plan_says_names_beside_ids_and_what_its_frames_show(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "lines", 1)
    asked = '[[plan]]\nname = "roof"\ncamera = "demo-640"\naircraft = "demo-quad-work"\nsampling = "8 cm"\n'
    asked += 'take_off = "47.2999, 20.8999"\n'
    brief = shelf / "lines" / "brief.toml"
    brief.write_text(BRIEF.replace("[limits]", f"{asked}[limits]"), "utf-8")
    question = client.get("/api/jobs/lines/plan").json()["plans"][0]["question"]
    tried = client.post("/api/plan/try", json={"question": question, "job": "lines"}).json()
    kit = client.get("/api/kit").json()
    names = {x["id"]: x["name"] for kind in ("cameras", "lenses", "aircraft") for x in kit[kind]}
    ids = tried["plan"]["kit"].split(" + ")
    assert len(ids) == 3
    assert tried["plan"]["names"] == {i: names[i] for i in sorted(ids)}
    of_job = client.get("/api/jobs/lines/plan/1/coverage").json()
    assert of_job == tried["coverage"]
    assert of_job["classes"][0] == "unseen"
    assert {f["geometry"]["type"] for f in of_job["features"]} == {"Polygon"}
    assert "asks for 1" in fault(client.get("/api/jobs/lines/plan/2/coverage"), 404)
    line = {"type": "LineString", "coordinates": [[20.9, 47.3], [20.903, 47.3005]]}
    road = {"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {}, "geometry": line}]}
    along = client.post("/api/plan/try", json={"question": question, "site": road, "job": "lines"}).json()["coverage"]
    assert {f["geometry"]["type"] for f in along["features"]} == {"Point"}


def test_what_would_change_says_names_beside_ids(client: httpx.Client) -> None:
    question = {"target": "clamp", "task": "measure", "accuracy": "5 K", "distance": "25 m"}
    found = client.post("/api/fit/try", json={"question": question}).json()
    kit = client.get("/api/kit").json()
    names = {x["id"]: x["name"] for kind in ("cameras", "lenses", "aircraft") for x in kit[kind]}
    assert found["would_change"]
    for told in found["would_change"]:
        assert all(names[part] in told["name"] for part in told["combination"].split(" + "))


def test_a_question_tells_its_target_by_whichever_name_the_brief_uses(client: httpx.Client, shelf: Path) -> None:
    """A page offers targets by id; a brief may use another of its names, or describe what is to be seen."""
    make_job(shelf / "names", 1)
    asked = [{"target": "Panel"}, {"length": "1 m", "width": "1 m", "material": "water", "rise": "2 K"}]
    blocks = "".join(
        "[[fit]]\n" + "".join(f"{k} = {v!r}\n" for k, v in {**q, "date": "2026-05-02"}.items()) for q in asked
    )
    (shelf / "names" / "brief.toml").write_text(BRIEF.replace("[limits]", f"{blocks}[limits]"), "utf-8")
    told = client.get("/api/jobs/names/fit").json()["questions"]
    assert [q["target"] and q["target"]["id"] for q in told] == ["photovoltaic-module", None]
    assert told[0]["target"]["id"] in [t["id"] for t in client.get("/api/kit").json()["targets"]]


def test_a_flight_says_when_no_table_can_be_had_so_that_none_is_asked_for(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "plain", 1)
    for name, values in (("raw", {"kind": "counts"}), ("warm", {"kind": "apparent_temperature", "unit": "C"})):
        spec = {"values": values, "poses": {"source": "none"}}
        made = client.post("/api/jobs/plain/flights", json={"visit": "2026-05-02", "flight": name, "spec": spec})
        assert made.status_code == 201, made.text
    told = client.get("/api/jobs/plain")
    assert told.status_code == 200, told.text
    (check, *_) = told.json()["steps"]
    assert (check["state"], check["why"][:38]) == ("missing", "visits/2026-05-02/flights/raw/frames: h"[:38])
    raw, warm = told.json()["flight_list"]
    assert raw["no_table"].startswith("Counts without calibration")
    assert warm["no_table"] == ""


def test_the_schema_is_served_and_names_no_other_site(client: httpx.Client) -> None:
    schema = client.get("/api/openapi.json").json()
    assert schema["openapi"].startswith("3.")
    assert "/api/jobs/{job}/findings" in schema["paths"]
    assert client.get("/docs").status_code == 404
