"""Whatever order and units a maker chooses, what is told is in the entry or is asked about; nothing is dropped."""

from __future__ import annotations

import functools
from datetime import datetime

from hypothesis import given, settings
from hypothesis import strategies as st

from inkhorn.daybook.measures import measures
from inkhorn.quantities import read_quantity
from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

NOW = datetime(2026, 9, 14, 9, 0)  # noqa: DTZ001 - the daybook keeps local times
MASS = {"g": 1, "grams": 1, "kg": 1000, "kilos": 1000, "oz": 28.349523125}
VOLUME = {"l": 1000, "litres": 1000, "ml": 1, "pints": 518.5}
HOURS = {"h": 1, "hours": 1, "days": 24}
LOTS = {"sumac": "sumac-leaf", "cones": "alder-cones", "galls": "oak-galls", "sumac leaf": "sumac-leaf"}
LIQUIDS = {"rainwater": "rainwater", "spring water": "spring-water", "tap water": "tap-water"}
VESSELS = {"tub": "tub", "pot": "pot", "ink jar": "ink-jar"}


@functools.cache
def _book(bench: str):
    return corpus.set_up(bench).book


def _value(text: str, dimension: str) -> float:
    return read_quantity(text, expect=(dimension,), measures=measures()).value


@st.composite
def _amount(draw: st.DrawFn, units: dict[str, float], low: int, high: int) -> tuple[str, float]:
    unit = draw(st.sampled_from(sorted(units)))
    number = draw(st.integers(low, high))
    return f"{number} {unit}", number * units[unit]


@settings(deadline=None, max_examples=60)
@given(
    lot=st.sampled_from(sorted(LOTS)), liquid=st.sampled_from(sorted(LIQUIDS)), vessel=st.sampled_from(sorted(VESSELS)),
    mass=_amount(MASS, 2, 9), volume=_amount(VOLUME, 2, 4), time=_amount(HOURS, 2, 20), order=st.permutations(range(3)),
    head=st.sampled_from(["steep {a} of {x}", "put {a} of the {x} to soak", "{a} {x}", "soak {x}, {a},"]),
    of=st.sampled_from(["of ", ""]),
)  # fmt: skip
def test_a_steep_in_any_order(lot, liquid, vessel, mass, volume, time, order, head, of) -> None:
    """The amounts, the liquid, the vessel and the length reach their keys whatever their order and units."""
    tail = [f"in {volume[0]} {of}{liquid}", f"in the {vessel}", f"for {time[0]}"]
    text = " ".join([head.format(a=mass[0], x=lot), *(tail[n] for n in order)])
    found = understand(text, _book("shelf"), NOW)
    if found.question:  # a share of more than was gathered, or more than the vessel holds, may be asked about
        assert found.question.mend
        return
    assert len(found.entries) == 1, text
    (entry,) = found.entries
    assert (entry["kind"], entry["lot"], entry["liquid"], entry["into"]) == (
        "steep",
        LOTS[lot],
        LIQUIDS[liquid],
        VESSELS[vessel],
    )
    assert abs(_value(entry["amount"], "mass") / mass[1] - 1) < 1e-9
    assert abs(_value(entry["liquid_amount"], "volume") / volume[1] - 1) < 1e-9
    assert abs(_value(entry["for"], "time") / 3600 / time[1] - 1) < 1e-9


@settings(deadline=None, max_examples=60)
@given(
    amount=_amount({"g": 1, "grams": 1}, 2, 90), lot=st.sampled_from(["gum", "plum gum", "chalk", "vitriol", "copperas"]),
    vessel=st.sampled_from(["pot", "ink jar"]), shape=st.integers(0, 4),
)  # fmt: skip
def test_an_addition_in_any_shape(amount, lot, vessel, shape) -> None:
    """An addition is the same entry however it is put."""
    shapes = (
        f"add {amount[0]} of {lot} to the {vessel}", f"{amount[0]} {lot} into the {vessel}", f"stirred {amount[0]} of the {lot} into the {vessel}",
        f"the {vessel} got {amount[0]} of {lot}", f"{lot}, {amount[0]}, into the {vessel}",
    )  # fmt: skip
    found = understand(shapes[shape], _book("gummed"), datetime(2026, 9, 14, 18, 0))  # noqa: DTZ001
    keys = {
        "gum": "plum-gum",
        "plum gum": "plum-gum",
        "chalk": "chalk",
        "vitriol": "bought-green-vitriol",
        "copperas": "bought-green-vitriol",
    }
    if found.question:
        assert found.question.mend
        return
    (entry,) = found.entries
    assert (entry["kind"], entry["lot"], entry["into"]) == (
        "add",
        keys[lot],
        {"pot": "pot", "ink jar": "ink-jar"}[vessel],
    )
    assert _value(entry["amount"], "mass") == amount[1]


_NONSENSE = st.text("bcdfglmnprstvz", min_size=4, max_size=9).map(lambda s: f"q{s}")


@settings(deadline=None, max_examples=80)
@given(word=_NONSENSE, place=st.integers(0, 7))
def test_an_unknown_word_is_never_passed_over(word, place) -> None:
    """A word that nobody knows leads to a question or a yes, never to an entry at once."""
    words = ["add", "6", "g", "of", "gum", "to", "the", "pot"]
    said = " ".join([*words[:place], word, *words[place:]])
    found = understand(said, _book("black"), datetime(2026, 9, 14, 18, 0))  # noqa: DTZ001
    assert not found.sure, (said, found)


@settings(deadline=None, max_examples=80)
@given(
    told=st.sampled_from(["3 g", "about 200 ml", "two hours", "40 degrees", "a third", "t9", "the crock", "the quill", "at noon", "5 mm"]),
    sentence=st.sampled_from(["skimmed the pot", "add 6 g of gum to the pot", "boil the pot down to half", "pH of the pot is 3"]),
)  # fmt: skip
def test_a_told_amount_name_or_time_is_never_dropped(told, sentence) -> None:
    """Something more that is told changes the entry, is asked about, or wants a yes; it is not lost."""
    when = datetime(2026, 9, 14, 18, 0)  # noqa: DTZ001
    plain = understand(sentence, _book("black"), when)
    more = understand(f"{sentence} {told}", _book("black"), when)
    assert not more.sure or more.entries != plain.entries, (sentence, told, more.entries)


@settings(deadline=None, max_examples=40)
@given(
    head=st.sampled_from(["did not", "tomorrow I will", "I might", "we should", "never", "forgot to", "if it cools I'll", "should I", "I'm about to"]),
    rest=st.sampled_from(["add 6 g of gum to the pot", "skim the pot", "boil the pot down to half", "strain the pot into the ink jar"]),
)  # fmt: skip
def test_what_was_not_done_is_no_entry(head, rest) -> None:
    """What was not done, is planned or asked is never recorded."""
    found = understand(f"{head} {rest}", _book("black"), datetime(2026, 9, 14, 18, 0))  # noqa: DTZ001
    assert not found.entries


# ---------------------------------------------------------------- word salads

#: Figures that occur nowhere else, so that they are found again in an entry or are not there.
_FIGURES = ("7", "13", "17", "23", "31")
_UNITS = ("g", "ml", "l", "hours", "minutes", "degrees C", "mm", "spoonfuls", "oz")
_NAMES = {
    "the pot": "pot", "the tub": "tub", "the ink jar": "ink-jar", "the gum": "plum-gum", "vitriol": "bought-green-vitriol", "galls": "oak-galls",
    "cones": "alder-cones", "chalk": "chalk", "the reed": "reed-3mm", "the goat skin": "goat-1",
}  # fmt: skip
_GLUE = (
    "add", "added", "put", "poured", "boiled", "warmed", "strained", "skimmed", "steeped", "left", "weighed", "took", "wrote", "measured", "pH",
    "to", "into", "in", "of", "with", "for", "from", "down to", "until", "and", "then", ",", ":", "a line", "a strip", "thick", "film", "left", "is",
    "at nine", "yesterday", "this morning", "it", "water", "rainwater", "half", "all", "about", "another", "the same again", "too dark", "covered",
)  # fmt: skip


def _amounts() -> st.SearchStrategy[str]:
    return st.tuples(st.sampled_from(_FIGURES), st.sampled_from(_UNITS)).map(" ".join)


def _salads() -> st.SearchStrategy[list[str]]:
    word = st.one_of(
        st.sampled_from(_GLUE), st.sampled_from(_GLUE), st.sampled_from(sorted(_NAMES)), _amounts()
    )
    return st.lists(
        word, min_size=1, max_size=9, unique_by=lambda w: w.split()[0] if w[0].isdigit() else object()
    )


@settings(deadline=None, max_examples=250)
@given(words=_salads(), bench=st.sampled_from(["black", "shelf", "soaking", "gummed"]))
def test_a_salad_of_words_never_loses_an_amount_or_a_name(words, bench) -> None:
    """Whatever is strung together: what is recorded at once holds every figure and every name that was said."""
    said = " ".join(words)
    found = understand(said, _book(bench), datetime(2026, 9, 14, 18, 0))  # noqa: DTZ001
    assert (bool(found.entries), found.question is not None, bool(found.refused)).count(True) == 1
    if not found.sure:
        return
    held = " ".join(str(value) for entry in found.entries for value in entry.values())
    for word in words:
        figure, _, unit = word.partition(" ")
        if figure in _FIGURES:
            ago = unit in ("hours", "minutes") and any(
                entry["at"] < "2026-09-14T18:00" for entry in found.entries
            )
            assert figure in held or ago, (said, found.entries)
        elif word in _NAMES:
            assert _NAMES[word] in held.replace(" ", "-") or _may_go_unsaid(word, found.entries), (
                said,
                found.entries,
            )


def _may_go_unsaid(word: str, entries: tuple[dict, ...]) -> bool:
    """Return whether an entry holds a name without its word: what was strained off, the pen that skipped, the skin a page is of."""
    kinds = {entry["kind"] for entry in entries}
    if word in ("the gum", "vitriol", "galls", "cones", "chalk"):
        return "strain" in kinds
    return word in ("the reed", "the goat skin") and any(
        entry.get("what") in ("flow", "body") for entry in entries
    )


@settings(deadline=None, max_examples=250)
@given(text=st.one_of(st.text(max_size=80), st.lists(st.sampled_from([*_GLUE, "½", "2 ×", "°", "->", "R 0.9", "?", "not", "will", "1 in 8", "#", "€"]), max_size=14).map(" ".join)))  # fmt: skip
def test_nothing_that_is_typed_breaks_it(text) -> None:
    """Any text gives entries, a question or a reason."""
    found = understand(text, _book("writing"), datetime(2026, 9, 15, 18, 0))  # noqa: DTZ001
    assert (bool(found.entries), found.question is not None, bool(found.refused)).count(True) == 1
