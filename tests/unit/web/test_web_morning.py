"""The ink of a morning, asked on the page: what to stir in, and one tap that records it."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from functools import partial
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import inkhorn
from support import real_bench
from support.real_bench import book, empty, visited


@pytest.fixture
def saltmere(saltmere: Path) -> Path:
    """Return a real workshop whose pot was written from five days ago and has stood open since."""
    begun = datetime.now() - timedelta(days=6)  # noqa: DTZ005
    steps = (
        (0, {"kind": "bring", "vessel": "pot", "material": "sumac leaf", "amount": "120 ml"}),
        (1, {"kind": "add", "into": "pot", "lot": "vitriol", "amount": "2 g"}),
        (2, {"kind": "add", "into": "pot", "lot": "plum-gum", "amount": "3 g"}),
        (24, {"kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-1", "method": "pen", "pen": "reed-2mm"}),
        (25, {"kind": "store", "vessel": "pot", "how": "open"}),
    )  # fmt: skip
    with inkhorn.Workshop.open(saltmere) as opened:
        for hours, step in steps:
            opened.record({"at": f"{begun + timedelta(hours=hours):%Y-%m-%dT%H:%M}", **step})
    return saltmere


answered = partial(real_bench.answered, while_working="Looking at the ink")


def test_the_bench_leads_there_once_there_is_a_trial(visitor: TestClient) -> None:
    """A trial is asked for, the pot in hand is chosen, and nothing is answered before anything is asked."""
    assert 'href="/morning"' in visitor.get("/").text
    page = visitor.get("/morning").text
    assert 'name="like" value="t1" required' in page
    assert 'name="vessel" value="pot" checked' in page
    assert 'id="mo"' not in page


def test_water_that_dried_away_is_asked_back_and_one_tap_records_it(
    visitor: TestClient, saltmere: Path
) -> None:
    """After five open days water is to be stirred in, as the workshop itself answers; asking records nothing, the tap does."""
    before = len(book(saltmere))
    page = answered(visitor, "/morning?like=t1&vessel=pot&warmth=18")
    with inkhorn.Workshop.open(saltmere) as opened:
        told = opened.today("pot", like="t1", temperature="18 degC", at=datetime.now())  # noqa: DTZ005
    assert told.evaporated is not None
    assert told.evaporated.median > 5
    assert "dried away" in page
    assert "That should bring back the ink of t1" in page
    assert len(book(saltmere)) == before
    tapped = re.findall(r'<input type="hidden" name="action" value="(\{[^"]*\})">', visitor.get("/morning?like=t1&vessel=pot&warmth=18").text)  # fmt: skip
    actions = [unescape(one) for one in tapped]
    assert actions
    visitor.post("/did", data={"key": "morning-1", "action": actions})
    assert [e["kind"] for e in book(saltmere)[before:]] == [a["kind"] for a in told.adjustment.to_dict()["actions"]]  # fmt: skip


def test_what_cannot_be_asked_is_answered_in_words(visitor: TestClient) -> None:
    """A warmth that is none, and names that are not on the bench: said so, or replaced by what is there."""
    page = answered(visitor, "/morning?like=t1&vessel=pot&warmth=12+ml")
    assert 'role="alert"' in page
    assert "12 ml" in page
    other = answered(visitor, "/morning?like=moon&vessel=moon")
    assert 'value="pot" checked' in other
    assert "moon" not in other


def test_without_a_trial_it_says_what_to_do(tmp_path: Path) -> None:
    """On an empty bench there is nothing to be like."""
    with visited(empty(tmp_path)) as visitor:
        assert "/morning" not in visitor.get("/").text
        assert "Nothing stands on the bench yet" in visitor.get("/morning?like=t1").text
