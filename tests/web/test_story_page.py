"""The story and its pages: what was changed in words, mistyped addresses, servers that only show, the brief at hand."""

from __future__ import annotations

from collections.abc import Iterator
from html import unescape
from pathlib import Path

import httpx
import pytest
from tests.web.web_jobs import make_job, serving

HTML = {"accept": "text/html,application/xhtml+xml;q=0.9,*/*;q=0.8"}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("shelf")
    make_job(root / "mill", 4)
    return root


@pytest.fixture(scope="module")
def client(shelf: Path) -> Iterator[httpx.Client]:
    with serving(shelf) as (client, _):
        yield client


@pytest.fixture(scope="module")
def shown_only(shelf: Path) -> Iterator[httpx.Client]:
    with serving(shelf, "--read-only") as (client, _):
        yield client


def test_who_changed_what_is_told_in_words(client: httpx.Client) -> None:
    url = "/api/jobs/mill"
    said = {"action": "regrade", "value": "watch", "by": "A. Example", "note": "{seen} on site"}
    assert client.post(f"{url}/findings/00000003/decisions", json=said).status_code == 201
    assert client.post(f"{url}/decisions/1/undo", json={"by": "B. Example"}).status_code == 201
    accepted = {"action": "accept", "by": "B. Example"}
    assert client.post(f"{url}/findings/00000001/decisions", json=accepted).status_code == 201
    words = [e["words"] for e in client.get(f"{url}/audit").json()["items"]]
    assert words == [
        "finding 1 accepted",
        "decision 1 on finding 3 taken back",
        "finding 3 graded: watch ({seen} on site)",
    ]


@pytest.mark.parametrize("path", ["/jobs/nope", "/jobs/mill/fit", "/nowhere", "/jobs/.hidden"])
def test_a_mistyped_address_is_a_page_with_the_way_back(client: httpx.Client, path: str) -> None:
    page = client.get(path, headers=HTML)
    assert page.status_code in (400, 404)
    assert page.headers["content-type"].startswith("text/html")
    assert path in page.text
    assert 'href="/"' in page.text
    assert client.get(path).json()["error"]["message"] in unescape(page.text), "the same words"
    assert ('href="/jobs/mill"' in page.text) is path.startswith("/jobs/mill")


def test_programs_are_answered_in_json(client: httpx.Client) -> None:
    assert client.get("/api/jobs/nope", headers=HTML).json()["error"]["status"] == 404


def test_an_address_is_shown_as_text(client: httpx.Client) -> None:
    page = client.get("/jobs/<script>alert(1)<b>", headers=HTML)
    assert "<script>alert" not in page.text


def test_a_server_that_only_shows_says_so_instead_of_a_form(shown_only: httpx.Client, client: httpx.Client) -> None:
    page = shown_only.get("/new", headers=HTML).text
    assert "only shows" in page
    assert "<form" not in page
    assert "<form" in client.get("/new", headers=HTML).text


def test_every_page_of_a_question_has_the_brief_in_a_sentence(client: httpx.Client) -> None:
    sentence = client.get("/api/jobs/mill").json()["sentence"]
    for slug in ("can-it-be-seen", "how-and-when-do-we-fly", "did-we-get-it", "how-hot", "what-is-wrong"):
        assert sentence in client.get(f"/jobs/mill/{slug}", headers=HTML).text
