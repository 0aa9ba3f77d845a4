"""A sentence sent to the bench is recorded at once, or one question comes back."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest
from starlette.testclient import TestClient

import inkhorn
from inkhorn.web.app import create_app

_SCHEMA = json.loads(files("inkhorn.web").joinpath("schemas/said.json").read_text("utf-8"))


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[TestClient]:
    """Return the bench of an empty workshop."""
    inkhorn.Workshop.create(tmp_path / "w").close()
    with TestClient(create_app(tmp_path / "w"), base_url="http://127.0.0.1") as client:
        yield client


def _say(bench: TestClient, text: str, **how: object) -> dict:
    sent = {"text": text, "at": "2026-09-12T10:15", **how}
    back = bench.post("/api/say", json=sent, headers={"Origin": "http://127.0.0.1"})
    assert back.status_code in (200, 201), back.text
    found = back.json()
    jsonschema.validate(found, _SCHEMA)
    assert (back.status_code == 201) == bool(found["recorded"])
    return found


def test_a_plain_sentence_is_recorded_at_once(bench: TestClient) -> None:
    """What is understood without a guess is in the daybook when the answer comes, and read back."""
    found = _say(bench, "gathered 640 g of sumac leaf", who="M.")
    assert found["outcome"] == "recorded"
    assert found["recorded"][0]["number"] == 1
    (line,) = bench.get("/api/daybook").json()
    assert line["who"] == "M."
    assert line["amount"] == "640 g"


def test_a_question_is_answered(bench: TestClient) -> None:
    """What is missing is asked for, nothing is stored, and the answer completes the sentence."""
    _say(bench, "gathered 640 g of sumac leaf")
    asked = _say(bench, "steep 600 g of sumac in 5 l spring water in the tub")
    assert asked["outcome"] == "asked"
    assert asked["question"]["field"] == "for"
    assert len(bench.get("/api/daybook").json()) == 1
    found = _say(bench, "steep 600 g of sumac in 5 l spring water in the tub", answer="18 h")
    assert found["outcome"] == "recorded"


def test_a_guess_wants_a_yes(bench: TestClient) -> None:
    """A misspelt word is read, and nothing is stored before the yes."""
    guessed = _say(bench, "gathered 640 g of sumack leaf")
    assert guessed["outcome"] == "guessed"
    assert guessed["guesses"]
    assert bench.get("/api/daybook").json() == []
    assert _say(bench, "gathered 640 g of sumack leaf", yes=True)["outcome"] == "recorded"


def test_chatter_is_stored_only_when_told_to(bench: TestClient) -> None:
    """What is no entry is no remark either, unless the maker says so."""
    assert _say(bench, "lovely weather for once")["outcome"] == "refused"
    assert bench.get("/api/daybook").json() == []
    found = _say(bench, "lovely weather for once", as_remark=True)
    assert found["entries"][0]["entry"]["kind"] == "remark"
    assert len(bench.get("/api/daybook").json()) == 1


def test_a_dry_say_stores_nothing(bench: TestClient) -> None:
    """A sentence may be tried out."""
    assert _say(bench, "gathered 640 g of sumac leaf", dry=True)["outcome"] == "understood"
    assert bench.get("/api/daybook").json() == []


def test_no_sentence_is_told(bench: TestClient) -> None:
    """Without a text the answer says what to send."""
    back = bench.post("/api/say", json={"words": "x"}, headers={"Origin": "http://127.0.0.1"})
    assert back.status_code == 422
    assert "text" in back.json()["where"]
