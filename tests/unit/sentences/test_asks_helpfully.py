"""What no entry can hold as it was said is asked about in the words of an entry that can; nothing is guessed."""

from __future__ import annotations

from datetime import datetime

import pytest

from inkhorn.sentences.answer import Understood
from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

NOW = {
    bench: datetime.fromisoformat(when)
    for bench, when in (("strained", "2026-09-13T16:10"), ("writing", "2026-09-16T11:00"))
}


def said(text: str, bench: str = "strained") -> Understood:
    """Return what a sentence says on a bench."""
    return understand(text, corpus.set_up(bench).book, NOW[bench])


@pytest.mark.parametrize(
    "text",
    ["the pot is thicker than yesterday", "it's thinner than it was this morning", "the pot is thicker now"],
)
def test_a_pot_beside_an_earlier_day_asks_how_thick_it_is_now(text: str) -> None:
    """The answers that it names are readings of the body."""
    found = said(text)
    assert not found.entries
    assert found.question is not None
    assert found.question.text.startswith("How thick is it now")
    assert found.partial == {"kind": "reading", "of": "vessel:pot", "what": "body"}
    for choice in found.question.choices:
        told = understand(f"the pot: {choice}", corpus.set_up("black").book, NOW["strained"]).entries
        assert [(entry["what"], entry["value"]) for entry in told] == [("body", choice)]


@pytest.mark.parametrize(
    ("text", "bench", "choices"),
    [
        ("some mould on top", "strained", ("mould spots", "mould skin")),
        ("the ink feathers on the goat", "writing", ("drinks", "blots")),
    ],
)
def test_what_may_be_two_words_of_a_scale_is_asked(text: str, bench: str, choices: tuple[str, ...]) -> None:
    """The question names the words that fit."""
    found = said(text, bench)
    assert not found.entries
    assert found.question is not None
    assert found.question.choices == choices


def test_the_rest_is_asked_where_two_vessels_hold_something() -> None:
    """It is taken at once only where one vessel can be meant."""
    assert said("put the rest away in the jar").entries[0]["amount"] == "all"
    found = said("poured 200 ml into the jar and threw away the rest")
    assert not found.entries
    assert found.question is not None
    assert found.question.field == "vessel"


@pytest.mark.parametrize(
    "text", ["boiled it until a skin formed on top", "let it stand until a skin has formed"]
)
def test_until_a_skin_has_formed_is_no_reading(text: str) -> None:
    """It tells how long, not what is there."""
    assert not said(text).entries


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("sg one point oh four", "value", "1.04"),
        ("simmered it for another half hour", "for", "0.5 h"),
        ("another spoonful of gum", "amount", "1 spoonful"),
        ("it is 24 degrees warm", "value", "24 degC"),
    ],
)
def test_numbers_told_in_words(text: str, key: str, value: str) -> None:
    """Figures in words are the figures they name."""
    found = said(text)
    assert found.sure
    assert found.entries[0][key] == value
