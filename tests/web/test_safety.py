"""Hostile requests are refused with the status that fits: other hosts and origins, paths, sizes, names, no token."""

from __future__ import annotations

import http.client
import json
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest
from tests.web.web_jobs import SITE, TOKEN, make_job, serving

from groundglow.cli.main import app as command_line

BRIEF = {"title": "t", "site": {"name": "s"}, "question": [{"name": "q"}]}


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("safety")
    make_job(root / "mill", 5)
    (root.parent / "secret.txt").write_text("secret", "utf-8")
    (root / "mill" / "out" / "link.txt").symlink_to(root.parent / "secret.txt")
    return root


@pytest.fixture(scope="module")
def client(root: Path) -> Iterator[httpx.Client]:
    with serving(root, "--most-mb", "1") as (client, _):
        yield client


@pytest.fixture(scope="module")
def guarded(root: Path) -> Iterator[httpx.Client]:
    with serving(root, "--read-only", GROUNDGLOW_TOKEN=TOKEN) as (client, _):
        yield client


def raw(client: httpx.Client, method: str, path: str, body: bytes = b"", **headers: str) -> tuple[int, str]:
    """A request as it is written, with nothing put in order by a client's library."""
    at = urlsplit(str(client.base_url))
    connection = http.client.HTTPConnection(at.hostname or "", at.port, timeout=30)
    connection.putrequest(method, path, skip_host="host" in headers, skip_accept_encoding=True)
    for name, value in headers.items():
        connection.putheader(name.replace("_", "-"), value)
    if body and "content_length" not in headers and "transfer_encoding" not in headers:
        connection.putheader("content-length", str(len(body)))
    connection.endheaders(body or None)
    answer = connection.getresponse()
    text = answer.read().decode("utf-8", "replace")
    connection.close()
    return answer.status, text


@pytest.mark.parametrize(
    "path",
    [
        "/api/jobs/mill/files/../brief.toml",
        "/api/jobs/mill/files/..%2f..%2fsecret.txt",
        "/api/jobs/mill/files/%2e%2e/%2e%2e/secret.txt",
        "/api/jobs/mill/files/..%5c..%5csecret.txt",
        "/api/jobs/mill/files/%252e%252e/secret.txt",
        "/api/jobs/mill/files//etc/passwd",
        "/api/jobs/mill/files/out/x%00.txt",
        "/api/jobs/mill/files/out/link.txt",
        "/api/jobs/..%2fmill",
        "/api/jobs/%2e%2e",
        "/static/../../settings.py",
        "/static/%2e%2e/settings.py",
        "/static/vendor/maplibre/..%2f..%2f__init__.py",
    ],
)
def test_no_path_leads_out_of_what_is_served(client: httpx.Client, path: str) -> None:
    status, text = raw(client, "GET", path)
    assert status in (400, 403, 404), (path, status)
    assert "secret" not in text.replace("secret.txt", "")
    assert "root:" not in text


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "evil.example:80", "", "127.0.0.1@evil", "10.0.0.9"]
)
def test_another_host_name_is_refused(client: httpx.Client, host: str) -> None:
    status, text = raw(client, "GET", "/api/jobs", host=host)
    assert status in (400, 421)
    assert "mill" not in text


def test_its_own_names_are_answered(client: httpx.Client) -> None:
    port = urlsplit(str(client.base_url)).port
    for host in (f"127.0.0.1:{port}", f"localhost:{port}", "[::1]", "127.0.0.1"):
        assert raw(client, "GET", "/api/jobs", host=host)[0] == 200, host


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:1"},
        {"sec_fetch_site": "cross-site"},
        {"sec_fetch_site": "same-site"},
    ],
)
def test_a_page_of_another_origin_neither_writes_nor_reads(
    client: httpx.Client, root: Path, headers: dict[str, str]
) -> None:
    body = json.dumps({"action": "accept", "by": "A"}).encode()
    url = "/api/jobs/mill/findings/00000001/decisions"
    status, text = raw(client, "POST", url, body, content_type="application/json", **headers)
    assert status == 403, text
    assert raw(client, "GET", "/api/jobs", **headers)[0] == 403
    assert not (root / "mill" / "findings.review.csv").exists()


def test_a_form_of_another_page_is_no_json(client: httpx.Client) -> None:
    body = json.dumps({"action": "accept", "by": "A"}).encode()
    status, _ = raw(client, "POST", "/api/jobs/mill/findings/00000001/decisions", body, content_type="text/plain")
    assert status == 422


def test_what_is_too_large_is_refused_whatever_length_is_said(client: httpx.Client) -> None:
    put = "/api/jobs/mill/visits/2026-05-02/conditions.csv"
    assert raw(client, "PUT", put, b"", content_length=str(10**9))[0] == 413
    large = b"x" * (2 * 1024 * 1024)
    assert client.put(put, content=large).status_code == 413
    assert client.put(put, content=iter([large[:700_000]] * 3)).status_code == 413, "in pieces, with no length"
    assert client.post("/api/briefs/check", content=b" " * (9 * 1024 * 1024)).status_code == 413


def test_what_is_packed_is_not_unpacked(client: httpx.Client) -> None:
    import gzip

    bomb = gzip.compress(b"0" * 10_000_000)
    for kind in ("gzip", "deflate", "br", "zstd"):
        answer = client.post("/api/briefs/check", content=bomb, headers={"content-encoding": kind})
        assert answer.status_code == 415


def png(side: int) -> bytes:
    """A 16-bit PNG whose header claims a side, with next to nothing in it."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", side, side, 16, 0, 0, 0, 0)
    packed = zlib.compress(b"\0" * 100_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


def test_a_picture_that_claims_an_absurd_size_is_not_decoded(client: httpx.Client) -> None:
    spec = {"values": {"kind": "counts"}, "poses": {"source": "none"}}
    made = client.post("/api/jobs/mill/flights", json={"visit": "v", "flight": "f", "spec": spec})
    assert made.status_code == 201, made.text
    answer = client.put("/api/jobs/mill/flights/v/f/frames/bomb.png", content=png(60_000))
    assert answer.status_code == 422
    assert "bomb.png" in answer.json()["error"]["message"]


@pytest.mark.parametrize(
    "name",
    [
        "<script>alert(1)</script>",
        "a;rm -rf ~",
        "$(id)",
        "`id`",
        "a\nb",
        "..",
        ".hidden",
        "a" * 81,
        "con|in",
        "'x",
        '"x',
    ],
)
def test_a_scripted_name_is_refused(client: httpx.Client, root: Path, name: str) -> None:
    before = sorted(p.name for p in root.iterdir())
    answer = client.post("/api/jobs", json={"id": name, "brief": BRIEF})
    assert answer.status_code in (400, 422), answer.text
    spec = {"values": {"kind": "counts"}, "poses": {"source": "none"}}
    flight = client.post("/api/jobs/mill/flights", json={"visit": name, "flight": "x", "spec": spec})
    assert flight.status_code in (400, 422)
    assert sorted(p.name for p in root.iterdir()) == before


def test_files_that_a_form_names_lie_in_the_job(client: httpx.Client) -> None:
    spec = {"values": {"kind": "counts"}, "poses": {"source": "file", "file": "../../../../etc/passwd"}}
    flight = client.post("/api/jobs/mill/flights", json={"visit": "v", "flight": "z", "spec": spec})
    assert flight.status_code == 422
    assert "names a file" in flight.json()["error"]["message"]
    question = {"sampling": "5 cm", "camera": "demo-640", "aircraft": "demo-quad-work", "over": "../../secret.txt"}
    tried = client.post("/api/plan/try", json={"question": question, "job": "mill"})
    assert "does not lie in the job" in tried.json()["error"]["message"]
    land = client.post(
        "/api/fit/try", json={"question": {"target": "person", "distance": "50 m", "land": "/etc/passwd"}}
    )
    assert land.status_code == 422


def test_every_answer_carries_the_strict_headers(client: httpx.Client) -> None:
    for path in ("/api/about", "/api/jobs/none", "/nowhere", "/api/jobs/mill/files/brief.toml"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "unsafe-eval" not in policy
        assert "script-src 'self';" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert "access-control-allow-origin" not in headers
        assert "server" not in headers


def test_a_page_among_the_outputs_runs_no_script(client: httpx.Client, root: Path) -> None:
    (root / "mill" / "out" / "card.html").write_text("<script>alert(1)</script>", "utf-8")
    shown = client.get("/api/jobs/mill/files/out/card.html", params={"view": True})
    assert "sandbox" in shown.headers["content-security-policy"]
    assert "default-src 'none'" in shown.headers["content-security-policy"]


def test_without_the_token_only_the_door_is_open(guarded: httpx.Client) -> None:
    assert guarded.get("/api/about").json()["signed_in"] is False
    assert guarded.get("/api/jobs").status_code == 401
    door = guarded.get("/", follow_redirects=False)
    assert (door.status_code, door.headers["location"]) == (303, "/login")
    assert guarded.get("/api/jobs", headers={"cookie": "groundglow=wrong"}).status_code == 401
    assert guarded.post("/api/login", json={"token": TOKEN[:-1]}).status_code == 401
    entered = guarded.post("/api/login", json={"token": TOKEN})
    assert entered.status_code == 204
    cookie = entered.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert guarded.get("/api/jobs").status_code == 200, "the cookie is brought by the client"
    bearer = httpx.get(
        guarded.base_url.join("/api/jobs"), headers={"authorization": f"Bearer {TOKEN}"}, trust_env=False
    )
    assert bearer.status_code == 200
    guarded.post("/api/logout")
    assert guarded.get("/api/jobs").status_code == 401


def test_a_read_only_server_changes_nothing(guarded: httpx.Client, root: Path) -> None:
    guarded.headers["authorization"] = f"Bearer {TOKEN}"
    before = {p: p.stat().st_mtime_ns for p in (root / "mill").rglob("*") if p.is_file()}
    kml = {"content-type": "application/geo+json"}
    tried = [
        guarded.post("/api/jobs", json={"id": "new", "brief": BRIEF}),
        guarded.put("/api/jobs/mill/brief", json={"brief": BRIEF}),
        guarded.put("/api/jobs/mill/site", content=json.dumps(SITE), headers=kml),
        guarded.post("/api/jobs/mill/findings/00000001/decisions", json={"action": "accept", "by": "A"}),
        guarded.post("/api/jobs/mill/decisions/1/undo", json={"by": "A"}),
        guarded.post("/api/jobs/mill/runs", json={"until": "check"}),
        guarded.delete("/api/jobs/mill/runs/x"),
        guarded.post("/api/jobs/mill/flights", json={"visit": "v", "flight": "q", "spec": {}}),
        guarded.put("/api/jobs/mill/visits/v/conditions.csv", content=b"time\n"),
    ]
    assert [a.status_code for a in tried] == [403] * len(tried)
    assert guarded.post("/api/briefs/check", json={"brief": BRIEF}).json()["ok"], "asking is no change"
    assert {p: p.stat().st_mtime_ns for p in (root / "mill").rglob("*") if p.is_file()} == before
    del guarded.headers["authorization"]


def test_beyond_this_machine_a_token_is_asked_for(tmp_path: Path) -> None:
    from typer.testing import CliRunner

    for options in (["--host", "0.0.0.0"], ["--host", "0.0.0.0", "--token", "short"]):
        told = CliRunner().invoke(command_line, ["serve", str(tmp_path), *options])
        assert told.exit_code == 2
        assert "token" in told.output
    assert CliRunner().invoke(command_line, ["serve", str(tmp_path / "no")]).exit_code == 2
