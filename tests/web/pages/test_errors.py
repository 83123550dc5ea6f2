"""One shape for every failure, and which status it has."""

import re
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.testclient import TestClient

from recorder import errors as tree
from recorder.errors import BadValue, Busy, JobChanged, SeamnoteError, UnknownJob
from recorder.web.pages import errors

FAILURES: dict[str, tuple[Exception, int, str]] = {
    "unknown": (UnknownJob(wanted="<b>x</b>"), 404, "no job answers to '<b>x</b>'"),
    "changed": (JobChanged(path="job 1"), 409, "job 1 holds readings that came in meanwhile"),
    "value": (BadValue(value=1, field="a", hint="b"), 422, "1 cannot be a"),
    "busy": (Busy(path="x"), 503, "x is being written by another process"),
    "method": (HTTPException(405), 405, "this address does not take that"),
    "odd": (HTTPException(418), 418, "something failed that nobody foresaw"),
    "bug": (RuntimeError("secret of the disk"), 500, "something failed that nobody foresaw"),
}


def fail(request: Request) -> Response:
    raise FAILURES[request.path_params["name"]][0]


@pytest.fixture(scope="module")
def client() -> TestClient:
    routes = [Route("/{name}", fail)]
    app = Starlette(routes=routes, exception_handlers=errors.EXCEPTION_HANDLERS)
    return TestClient(app, raise_server_exceptions=False)


@pytest.mark.parametrize("name", FAILURES)
def test_a_script_gets_two_texts_and_nothing_else(client: TestClient, name: str) -> None:
    _, status, error = FAILURES[name]
    answer = client.get(f"/{name}", headers={"accept": "application/json"})
    assert answer.status_code == status
    told = answer.json()
    assert set(told) == {"error", "remedy"}
    assert told["error"] == error
    assert told["remedy"]


@pytest.mark.parametrize("name", FAILURES)
def test_a_person_gets_a_page_that_says_the_same(client: TestClient, name: str) -> None:
    answer = client.get(f"/{name}", headers={"accept": "text/html,*/*;q=0.8"})
    assert answer.status_code == FAILURES[name][1]
    text = re.sub(r"<[^>]+>", "", answer.text)
    assert "What to do:" in text
    assert "Traceback" not in answer.text
    assert "secret of the disk" not in answer.text


def test_nothing_of_a_failure_is_markup(client: TestClient) -> None:
    answer = client.get("/unknown", headers={"accept": "text/html"})
    assert "<b>x" not in answer.text
    assert "&lt;b&gt;x" in answer.text


def test_an_address_without_a_page_is_a_failure_of_the_same_shape(client: TestClient) -> None:
    assert client.get("/a/b").json()["error"] == "there is nothing at this address"


def test_who_stands_before_the_routes_refuses_in_the_same_shape() -> None:
    scope: dict[str, Any] = {"type": "http", "method": "GET", "path": "/x", "headers": []}
    answer = errors.refusal(scope, 403, "no", "go")
    assert (answer.status_code, answer.body) == (403, b'{"error":"no","remedy":"go"}')
    scope["headers"] = [(b"accept", b"text/html")]
    assert b"<h1>That did not work</h1>" in bytes(errors.refusal(scope, 403, "no", "go").body)


def test_every_error_of_the_tree_has_a_status_that_is_no_success() -> None:
    kinds = [each for each in vars(tree).values() if isinstance(each, type)]
    for kind in (each for each in kinds if issubclass(each, SeamnoteError)):
        made = kind(**dict.fromkeys(kind.data_names(), 1))
        assert 400 <= errors.status_of(made) <= 503
        if kind is not SeamnoteError:
            assert errors.status_of(made) != 500, kind


def test_a_page_tells_what_can_be_done_there_and_not_in_a_terminal(client: TestClient) -> None:
    assert client.get("/unknown").json()["remedy"] == "look for it in the archive"
