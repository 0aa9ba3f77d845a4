"""What is wrong, asked on the page: the causes, the one check, and the odds made anew with what it found."""

from __future__ import annotations

import re
from functools import partial
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import inkhorn
from inkhorn.counsel.wrong.complaints import complaints
from support import real_bench
from support.real_bench import book


@pytest.fixture
def saltmere(saltmere: Path) -> Path:
    """Return the folder of a real workshop with a pot of liquor."""
    with inkhorn.Workshop.open(saltmere) as opened:
        opened.record({"at": "2026-11-08T10:00", "kind": "bring", "vessel": "pot", "material": "sumac leaf", "amount": "1 L"})  # fmt: skip
    return saltmere


answered = partial(real_bench.answered, while_working="Weighing what it may be")


def test_every_known_complaint_can_be_tapped(visitor: TestClient) -> None:
    """The bench leads there; each complaint of the handbook is a choice, and so is every vessel."""
    assert 'href="/wrong"' in visitor.get("/").text
    page = visitor.get("/wrong").text
    assert set(re.findall(r'name="say" value="([^"]+)"', page)) == set(complaints())
    assert 'name="of" value="vessel:pot" checked' in page


def test_a_complaint_is_answered_and_nothing_is_recorded(visitor: TestClient, saltmere: Path) -> None:
    """In one's own words: causes with their chances and the check with what each outcome looks like, as the workshop answers."""
    page = answered(visitor, "/wrong?say_other=it+is+far+too+pale+and+watery&of=vessel:pot")
    with inkhorn.Workshop.open(saltmere) as opened:
        told = opened.why("it is far too pale and watery", vessel="pot").to_dict()
    assert told["sentence"] in page
    listed = re.findall(r'<ol class="causes">(.*?)</ol>', page, re.DOTALL)[0]
    first = told["causes"][0]["words"]
    assert first[0].upper() + first[1:] in listed
    assert told["check"]["sentence"] in page
    ways = re.findall(r'<a href="(/wrong\?[^"]+)">', page)
    assert len(ways) == len(told["check"]["outcomes"])
    assert len(book(saltmere)) == 1
    again = answered(visitor, ways[0])
    assert f"With what you found: {told['check']['check'].replace('-', ' ')}: " in again
    assert "Begin again without it" in again


def test_words_that_mean_nothing_are_answered_with_what_is_known(visitor: TestClient) -> None:
    """No complaint in these words: the page lists what it knows, keeps the words, and shows no markup of theirs."""
    page = answered(visitor, "/wrong?say_other=<b>qqq</b>")
    assert "No complaint is known in these words" in page
    assert "pale and watery" in page
    assert "<b>qqq</b>" not in visitor.get("/wrong?say_other=<b>qqq</b>").text


def test_what_is_not_on_the_bench_is_not_asked_about(visitor: TestClient) -> None:
    """Another thing in the address is replaced by one that is there; a finding that is none is said to be none."""
    assert 'value="vessel:pot" checked' in visitor.get("/wrong?of=vessel:moon").text
    page = answered(visitor, "/wrong?say=pale-and-watery&of=vessel:pot&found=nonsense")
    assert 'role="alert"' in page
