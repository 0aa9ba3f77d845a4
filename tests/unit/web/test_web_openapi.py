"""The JSON twin keeps to its description, whatever is sent: checked by schemathesis, an independent fuzzer."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from schemathesis.checks import CHECKS, load_all_checks
from starlette.testclient import TestClient

import inkhorn
from inkhorn.web.app import create_app
from inkhorn.web.openapi import describe
from support.fake_workshop import FakeWorkshop, story

HERE = "http://127.0.0.1:8377"
CHECKED = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_schema_conformance",
)
OPERATIONS = [(path, method.upper()) for path, methods in describe()["paths"].items() for method in methods]


@pytest.fixture(scope="module")
def made_up(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Return the bench of a stand-in for a workshop, which answers at once."""
    path = tmp_path_factory.mktemp("fuzz") / "saltmere"
    story(path)
    app = create_app(path, opener=lambda: FakeWorkshop.open(path))  # type: ignore[arg-type,return-value]
    yield app
    app.state.room.close()
    FakeWorkshop.folders.clear()


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Return the bench of a real, empty workshop."""
    path = tmp_path_factory.mktemp("fuzz") / "real"
    inkhorn.Workshop.create(path).close()
    app = create_app(path)
    yield app
    app.state.room.close()


def asked_here(app: Any) -> Any:
    """Return an application that is always asked for under this machine's own name, as a browser would."""

    async def asked(scope: dict[str, Any], receive: Any, send: Any) -> None:
        if scope["type"] == "lifespan":
            # Each of the fuzzer's clients would end the bench that the next one needs.
            for word in ("startup", "shutdown"):
                await receive()
                await send({"type": f"lifespan.{word}.complete"})
            return
        if scope["type"] == "http":
            others = [pair for pair in scope["headers"] if pair[0] != b"host"]
            scope = {**scope, "headers": [(b"host", b"127.0.0.1:8377"), *others]}
        await app(scope, receive, send)

    return asked


def fuzz(app: Any, path: str, method: str, examples: int) -> None:
    """Send generated requests to one operation, those that keep to the description and those that do not."""
    load_all_checks()
    checks = CHECKS.get_by_names(CHECKED)
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", asked_here(app))
    operation = schema[path][method]
    cases = st.one_of(
        operation.as_strategy(),
        operation.as_strategy(generation_mode=schemathesis.GenerationMode.NEGATIVE),
    )

    @seed(174)
    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases)
    def send(case: Any) -> None:
        case.call_and_validate(checks=checks)

    send()


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_every_operation_keeps_to_its_description(made_up: Any, path: str, method: str) -> None:
    """No request, sound or broken, brings an answer that is not described, or a fault of our own."""
    fuzz(made_up, path, method, 40)


@pytest.mark.parametrize("path", ["/api/record", "/api/say"])
def test_a_real_workshop_takes_or_refuses_whatever_is_sent(real: Any, path: str) -> None:
    """The real daybook records or refuses any entry; none breaks it, and it can be read afterwards."""
    fuzz(real, path, "POST", 150)
    with TestClient(real, base_url=HERE) as client:
        assert client.get("/api/daybook").status_code == 200
        assert client.get("/daybook").status_code == 200


def test_the_fuzzer_does_catch(made_up: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """An answer beyond its description is found: a status without its number of the last entry."""
    monkeypatch.setattr(type(made_up.state.room), "turn", lambda _self: "often")
    with pytest.raises(BaseExceptionGroup) as found:
        fuzz(made_up, "/api/status", "GET", 5)
    assert '"often" is not of type "integer"' in repr(found.value.exceptions[0])


def test_the_description_is_whole() -> None:
    """Every address under /api/ is described, every reference leads somewhere, every schema is one."""
    told = describe()
    app = create_app(Path("nowhere"))
    routes = {route.path for route in app.routes if getattr(route, "path", "").startswith("/api/")}
    app.state.room.close()
    assert routes - {"/api/openapi.json"} == set(told["paths"])
    text = json.dumps(told)
    for reference in {part.split('"')[0] for part in text.split('"#/components/schemas/')[1:]}:
        assert reference in told["components"]["schemas"]
    for schema in told["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)
