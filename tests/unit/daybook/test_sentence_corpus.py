"""The corpus of sentences is itself right: its entries decode and check on its benches; nothing is missing.

The sentences, benches and expectations were made up for this corpus (the invented Saltmere roll).
"""

from __future__ import annotations

import re
from collections import Counter
from datetime import datetime

import pytest

from inkhorn.daybook.readings import FORMS
from inkhorn.daybook.schema import KINDS
from support import sentence_corpus as corpus

OPEN, ASIDE, LATER, BLIND, LAST = (corpus.sentences(part) for part in corpus.PARTS)
WHOLE = (*OPEN, *ASIDE, *LATER, *BLIND, *LAST)
_OF_A_LIQUOR = ("vessel", "lot")  # the same readings may be taken of both
_FURTHEST_APART = 0.1


def outcome(sentence: corpus.Sentence) -> list[str]:
    """Return the kinds that a sentence becomes, or that it is asked back or refused."""
    kinds = [raw["kind"] for raw in sentence.entries]
    return kinds or (["asks"] if sentence.asks else ["refused"])


def plain(say: str) -> str:
    """Return a sentence without capitals and punctuation."""
    return " ".join(re.findall(r"[\w%+±./-]+", say.casefold().rstrip(".!")))


@pytest.mark.parametrize("name", sorted(corpus.benches()))
def test_a_bench_is_a_sound_book(name: str) -> None:
    """What stands before the sentences is itself recorded without a fault, and its last vessel is known."""
    bench = corpus.set_up(name)
    node = corpus.benches()[name]
    assert node["what"]
    assert node["who"]
    assert node["last_vessel"] in ("", *bench.inventory.vessels)
    assert all(not thing.implied for thing in bench.inventory.lots.values())


@pytest.mark.parametrize("sentence", WHOLE, ids=lambda s: f"{s.part}-{s.file}-{s.say[:40]}")
def test_the_expected_entries_are_recorded(sentence: corpus.Sentence) -> None:
    """What is expected of a sentence decodes and checks in order on its bench, and is not of the future."""
    for given in sentence.readings:
        bench = corpus.set_up(sentence.bench)
        for raw in given:
            corpus.record(bench, raw)
            assert datetime.fromisoformat(raw["at"]) <= sentence.now
        assert corpus.judge(sentence, entries=given) == corpus.UNDERSTOOD


@pytest.mark.parametrize("part", corpus.PARTS)
def test_sentences_are_whole(part: str) -> None:
    """Each sentence says what is right to make of it, asks only for keys there are, and comes after its bench."""
    keys = {key.name for kind in KINDS.values() for key in kind.all_keys.values()}
    for sentence in corpus.sentences(part):
        assert sentence.style
        assert bool(sentence.entries) + bool(sentence.asks) + bool(sentence.refused) >= 1
        assert not (sentence.entries and sentence.refused)
        assert sentence.entries or not sentence.or_entries
        assert set(sentence.asks) <= keys, sentence.say
        assert len(sentence.within) <= max(1, len(sentence.entries))
        last = max(datetime.fromisoformat(raw["at"]) for raw in corpus.entries_of(sentence.bench))
        assert sentence.now >= last, sentence.say


def test_there_are_enough() -> None:
    """At least 300 sentences are open and 60 set aside, as many as the page says."""
    assert len(OPEN) >= 300
    assert len(ASIDE) >= 60
    page = (corpus.ROOT / "README.md").read_text("utf-8")
    told = [
        int(number) for number in re.findall(r"^\| `\w+/\*\.toml` \| (\d+) sentences", page, re.MULTILINE)
    ]
    assert told == [len(OPEN), len(ASIDE), len(LATER), len(BLIND), len(LAST)]


def test_no_sentence_stands_twice() -> None:
    """No sentence is said twice, capitals and punctuation aside, and no shape more than thrice."""
    said = Counter(plain(sentence.say) for sentence in WHOLE)
    assert max(said.values()) == 1, said.most_common(3)
    names = {name for bench in corpus.benches() for name in _names(bench)}
    pattern = re.compile("|".join(sorted(map(re.escape, names), key=len, reverse=True)))
    shapes = Counter(re.sub(r"[\d.,/]+", "#", pattern.sub("@", plain(s.say))) for s in WHOLE)
    assert max(shapes.values()) <= 3, shapes.most_common(3)


def _names(bench: str) -> set[str]:
    inventory = corpus.set_up(bench).inventory
    sorts = ("vessel", "lot", "support", "pen", "trial", "exemplar")
    return {word for sort in sorts for name in inventory.of(sort) for word in (name, name.replace("-", " "))}


@pytest.mark.parametrize(("part", "least"), [("open", 1), ("whole", 2)])
def test_every_kind_is_said(part: str, least: int) -> None:
    """Every kind of entry is expected at least twice in the whole, and in the open part."""
    chosen = OPEN if part == "open" else WHOLE
    kinds = Counter(kind for sentence in chosen for kind in outcome(sentence))
    assert {kind for kind in KINDS if kinds[kind] < least} == set()


@pytest.mark.parametrize(("part", "least"), [("open", 1), ("whole", 2)])
def test_every_reading_is_said(part: str, least: int) -> None:
    """Every reading that the reference names is expected at least twice in the whole, and in the open part.

    What is measured of a card is given to ``inkhorn card``, not said at the bench.
    """
    chosen = OPEN if part == "open" else WHOLE
    said: Counter[tuple[str, str]] = Counter()
    for sentence in chosen:
        for raw in sentence.entries:
            if raw["kind"] == "reading":
                sort = raw["of"].partition(":")[0]
                said["liquor" if sort in _OF_A_LIQUOR else sort, raw["what"]] += 1
    wanted = {
        ("liquor" if sort in _OF_A_LIQUOR else sort, what)
        for sort, forms in FORMS.items()
        if sort != "card"
        for what in forms
    }
    assert {name for name in wanted if said[name] < least} == set()


def test_the_parts_are_alike() -> None:
    """Of each kind the open part and the one set aside hold nearly the same share."""
    shares = []
    for part in (OPEN, ASIDE):
        counts = Counter(kind for sentence in part for kind in outcome(sentence))
        shares.append({kind: counts[kind] / counts.total() for kind in (*KINDS, "asks", "refused")})
    apart = sum(abs(shares[0][kind] - shares[1][kind]) for kind in shares[0]) / 2
    assert apart < _FURTHEST_APART


def test_the_styles_are_many() -> None:
    """Both parts hold sentences of the same manners of speech, twenty at least."""
    styles = [{style for sentence in part for style in sentence.style} for part in (OPEN, ASIDE)]
    assert styles[0] == styles[1]
    assert len(styles[0]) >= 20


# ---------------------------------------------------------------- the judge


def _of(say: str) -> corpus.Sentence:
    return next(sentence for sentence in WHOLE if sentence.say == say)


def test_a_wrong_amount_is_misunderstood() -> None:
    """An answer with another amount, vessel, time or way of knowing is not taken for right."""
    sentence = _of("Add 60 g of vitriol to the pot.")
    right = {"kind": "add", "into": "pot", "lot": "bought-green-vitriol", "amount": "60 g"}
    assert corpus.judge(sentence, entries=[right]) == corpus.UNDERSTOOD
    assert corpus.judge(sentence, entries=[{**right, "amount": "0.06 kg"}]) == corpus.UNDERSTOOD
    for change in (
        {"amount": "61 g"},
        {"amount": "about 60 g"},
        {"into": "tub"},
        {"lot": "chalk"},
        {"at": "2026-09-13T13:00"},
    ):
        assert corpus.judge(sentence, entries=[{**right, **change}]) == corpus.WRONG
    assert corpus.judge(sentence, entries=[right, right]) == corpus.WRONG
    assert corpus.judge(sentence, asks="amount") == corpus.LOST
    assert corpus.judge(sentence) == corpus.LOST


def test_chatter_is_not_to_be_stored() -> None:
    """What is no entry is rightly refused, and wrongly stored even as a remark."""
    sentence = _of("lovely weather for once")
    assert corpus.judge(sentence) == corpus.REFUSED
    assert corpus.judge(sentence, entries=[{"kind": "remark", "text": sentence.say}]) == corpus.WRONG


def test_the_right_question_is_told_from_the_wrong_one() -> None:
    """Asking for what is missing is right, asking for something else is not, guessing is worst."""
    sentence = _of("add the vitriol")
    assert corpus.judge(sentence, asks="amount") == corpus.ASKED
    assert corpus.judge(sentence, asks="vessel") == corpus.LOST
    guess = {"kind": "add", "into": "pot", "lot": "bought-green-vitriol", "amount": "40 g"}
    assert corpus.judge(sentence, entries=[guess]) == corpus.WRONG


@pytest.mark.parametrize("part", corpus.PARTS)
def test_the_tally_tells_readers_apart(part: str) -> None:
    """One that knows all is right throughout; one that says nothing loses all that is to be understood or asked."""
    chosen = corpus.sentences(part)

    def knowing(sentence: corpus.Sentence) -> dict:
        return {"entries": sentence.entries} if sentence.entries else {"asks": sentence.asks}

    told = sum(bool(sentence.entries) for sentence in chosen)
    refused = sum(bool(sentence.refused) for sentence in chosen)
    either = sum(bool(sentence.refused and sentence.asks) for sentence in chosen)
    assert corpus.tally(part, knowing) == {
        corpus.UNDERSTOOD: told,
        corpus.ASKED: len(chosen) - told - refused + either,
        corpus.REFUSED: refused - either,
    }
    silent = corpus.tally(part, lambda _: {})
    assert silent == {corpus.REFUSED: refused, corpus.LOST: len(chosen) - refused}


def test_an_amendment_is_held_to_the_whole_entry() -> None:
    """A correction must name the right entry and keep what was not corrected."""
    sentence = _of("no, that was 6.4 g")
    (right,) = sentence.readings[0]
    assert corpus.judge(sentence, entries=[right]) == corpus.UNDERSTOOD
    assert corpus.judge(sentence, entries=[{**right, "entry": right["entry"] - 1}]) == corpus.WRONG
    moved = {**right["replacement"], "into": "pot"}
    assert corpus.judge(sentence, entries=[{**right, "replacement": moved}]) == corpus.WRONG
