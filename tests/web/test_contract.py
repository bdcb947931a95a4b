"""Requests that the schema allows, and some that it does not, drawn at random: none makes the server fail."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from tests.web.web_jobs import make_job, serving

#: What takes seconds of work on purpose, each a call of its own elsewhere.
SLOW = (
    "/api/fit/views",
    "/api/fit/sheet.pdf",
    "/api/fit/card",
    "/api/fit/card.pdf",
    "/api/window",
    "/api/plan/try",
    "/api/plan/try/{name}",
)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    root = tmp_path_factory.mktemp("contract")
    make_job(root / "mill", 20)
    with serving(root) as (client, _):
        yield client


def _ask(client: httpx.Client, each: int, skipped: tuple[str, ...]) -> int:
    """Ask every operation ``each`` times; how many were asked."""
    schema = schemathesis.openapi.from_url(str(client.base_url.join("/api/openapi.json")))
    asked = 0
    for found in schema.get_all_operations():
        operation = found.ok()
        if operation.path in skipped or operation.path.endswith("/events"):
            continue
        asked += 1
        strategy = operation.as_strategy()

        @settings(
            max_examples=each, deadline=None, database=None, derandomize=True, phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        @given(case=strategy, real=st.booleans())
        def ask(case: schemathesis.Case, real: bool) -> None:
            if real:
                known = {"job": "mill", "finding": "00000001", "decision": 1, "number": 1}
                case.path_parameters = {**(case.path_parameters or {}), **_of(case.path_parameters, known)}
            answer = case.call(base_url=str(client.base_url).rstrip("/"), timeout=60)
            case.validate_response(answer, checks=[not_a_server_error])
            assert answer.status_code < 400 or answer.json()["error"]["message"]

        ask()
    return asked


def _of(given: dict[str, object] | None, known: dict[str, object]) -> dict[str, object]:
    return {name: value for name, value in known.items() if name in (given or {})}


def test_no_request_makes_the_server_fail(client: httpx.Client) -> None:
    asked = _ask(client, 2, SLOW)
    assert asked > 30
    assert client.get("/api/jobs/mill").status_code == 200, "it still answers"


@pytest.mark.accept
def test_no_request_makes_the_server_fail_at_length(client: httpx.Client) -> None:
    assert _ask(client, 60, ()) > 35
    assert client.get("/api/jobs/mill").status_code == 200


def test_all_of_the_openapi_operations_have_words(client: httpx.Client) -> None:
    paths = client.get("/api/openapi.json").json()["paths"]
    operations = list(
        itertools.chain.from_iterable((o for o in p.values() if isinstance(o, dict)) for p in paths.values())
    )
    assert all(o.get("summary") and o.get("description") for o in operations)
