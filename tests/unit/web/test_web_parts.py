"""The parts of the page that compute: forms against the entries' own schema, the shelf, the bar, the desk."""

from __future__ import annotations

import itertools
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkhorn.daybook import readings, schema
from inkhorn.errors import CounselError
from inkhorn.web import forms, shelf, swatch
from inkhorn.web.desk import Desk
from inkhorn.web.view import shares_bar
from support.fake_workshop import figure, vessel

BENCH = forms.Bench(
    vessels=("tub", "pot"), lots=("plum-gum",), supports=("goat-1",), pens=("reed",), trials=("t1", "t6")
)


@pytest.mark.parametrize("name", list(forms.FORMS))
def test_every_form_asks_only_for_keys_of_its_entry(name: str) -> None:
    """Each field is a key of that kind, and each key that the kind needs is asked for."""
    kind = schema.KINDS[name]
    asked = {key for field in forms.FORMS[name].fields(BENCH, "2026-09-14T09:00") for key in field.keys}
    assert asked <= set(kind.all_keys)
    assert {key.name for key in kind.all_keys.values() if key.needed} <= asked
    for group in kind.either:
        assert any(set(keys) <= asked for keys in group), group


@pytest.mark.parametrize("sort", list(forms.NOTICED))
def test_every_reading_that_is_asked_for_is_known(sort: str) -> None:
    """What a form lets somebody notice is a reading of the daybook; word scales come as words to tap."""
    for what, _, hint in forms.NOTICED[sort]:
        form = readings.FORMS[sort][what]
        fields = forms.reading_fields(f"{sort}:x", what, "2026-09-14T09:00")
        assert bool(fields[0].choices) == (form.sort == "word")
        assert bool(hint) == (form.sort == "quantity")


def test_the_examples_of_amounts_can_be_read() -> None:
    """Each hint of a reading is itself an answer that the daybook reads."""
    for sort, asked in forms.NOTICED.items():
        for what, _, hint in asked:
            for example in filter(None, hint.split(", or ")):
                form = readings.FORMS[sort][what]
                if form.sort == "quantity":
                    assert readings.read_amount(what, form, example).value > 0


def test_trials_are_counted_on() -> None:
    """The next trial's name follows the highest number."""
    assert forms.next_trial(("t1", "t6", "frost")) == "t7"
    assert forms.next_trial(()) == "t1"


@pytest.mark.parametrize("outline", list(shelf._OUTLINES.values()))
@given(share=st.floats(0, 1))
def test_the_level_holds_the_volume_it_stands_for(outline: shelf.Outline, share: float) -> None:
    """The solid below the level, measured again by thin slices, is the share of the whole."""
    top = shelf.level(outline, share)
    below = [(h, r) for h, r in outline if h < top]
    (h0, r0), (h1, r1) = next(
        ((a, b) for a, b in itertools.pairwise(outline) if a[0] <= top <= b[0]),
        (outline[-2], outline[-1]),
    )
    cut = (top, r0 + (r1 - r0) * (top - h0) / (h1 - h0))
    held = shelf.capacity_of((*below, cut)) if below else 0
    assert held == pytest.approx(share * shelf.capacity_of(outline), abs=1e-6)


def test_a_frustum_is_a_frustum() -> None:
    """A cylinder and a cone have their schoolbook volumes."""
    assert shelf.frustum(2, 1, 1) == pytest.approx(6.283185307)
    assert shelf.frustum(3, 1, 0) == pytest.approx(3.141592654)


def test_words_call_up_shapes() -> None:
    """A vessel's name or what it is called decides its outline; an unknown word is a plain vessel."""
    assert shelf.shape_of("small-pot") == "pot"
    assert shelf.shape_of("the big one", "two buckets") == "tub"
    assert shelf.shape_of("xyz") == "plain"


def test_vessels_keep_their_proportions() -> None:
    """Eight times the capacity is twice the height, whatever the scale of the shelf."""
    figures = {"jar-a": vessel(400, 0.1, 30, 0.9), "jar-b": vessel(50, 0.1, 30, 0.9)}
    drawn = shelf.draw(figures, {"jar-a": 800.0, "jar-b": 100.0}, {})
    heights = [d.height - 8 for d in drawn]
    assert heights[0] == pytest.approx(2 * heights[1])
    assert all(d.rim_known for d in drawn)


def test_the_surface_fades_as_the_volume_is_unsure() -> None:
    """Opacity falls with height from 1 to 0, and the fade is wider where less is known."""
    sure, unsure = shelf.draw(
        {"jar-a": vessel(400, 0.02, 30, 0.9), "jar-b": vessel(400, 0.4, 30, 0.9)},
        {"jar-a": 800.0, "jar-b": 800.0},
        {},
    )
    for drawing in (sure, unsure):
        heights = [at for at, _ in drawing.stops]
        chances = [chance for _, chance in drawing.stops]
        assert heights == sorted(heights)
        assert chances == sorted(chances, reverse=True)
        assert (chances[0], chances[-1]) == (1, 0)
    assert unsure.stops[-1][0] - unsure.stops[0][0] > 5 * (sure.stops[-1][0] - sure.stops[0][0])


def test_a_liquor_that_writes_nothing_has_no_swatch() -> None:
    """Water is drawn as an outline with no ink colour."""
    assert shelf.draw({"cup": vessel(40, 0.05, 84, 0.0)}, {"cup": None}, {})[0].swatch is None


def test_swatches_are_the_screen_s_own_colours() -> None:
    """White, black and the sRGB red of its published L*a*b* come out as a screen is told (IEC 61966-2-1)."""
    assert swatch.hex_of((100, 0, 0)) == "#ffffff"
    assert swatch.hex_of((0, 0, 0)) == "#000000"
    assert swatch.hex_of((53.24, 80.09, 67.20)) == "#ff0000"


@given(
    parts=st.dictionaries(
        st.sampled_from(["wear", "skin", "pen", "camera", "ink"]), st.floats(-0.3, 1), min_size=1, max_size=5
    )
)
def test_the_bar_is_whole_and_its_words_never_touch(parts: dict[str, float]) -> None:
    """Parts follow each other without a gap; two words in one row never overlap; no line crosses a word."""
    bar = shares_bar({name: {"fraction": part} for name, part in parts.items()})
    edge = bar[0].start if bar else 0
    for share in bar:
        assert share.start == pytest.approx(edge)
        edge = share.start + share.width
    if bar:
        assert edge == pytest.approx(100)

    def ends(name: str, start: float) -> tuple[float, float]:
        return start, start + 2.2 * (len(name) + 1)

    for a in bar:
        for b in bar:
            left, right = ends(b.name, b.start)
            if a is not b and a.row == b.row:
                assert ends(a.name, a.start)[1] < left or right < a.start
            if a.row > b.row and a is not b:
                assert not left < a.start < right


def test_the_desk_answers_each_question_once() -> None:
    """The same question about the same entry is worked out a single time, however many ask."""
    desk, asked = Desk(), []

    def work() -> int:
        asked.append(1)
        return 7

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: desk.ask("q", 1, work, patience=5).value, range(32)))
    assert answers == [7] * 32
    assert len(asked) == 1
    desk.close()


def test_the_desk_keeps_the_last_answer_and_drops_what_is_overtaken() -> None:
    """While a newer answer is worked out the former stands; one that never started is not begun."""
    desk, gate, begun = Desk(), threading.Event(), []

    def slow(n: int) -> int:
        begun.append(n)
        gate.wait(5)
        return n

    gate.set()
    assert desk.ask("q", 1, lambda: slow(1), patience=5).value == 1
    gate.clear()
    desk.ask("block", 1, lambda: slow(0))
    desk.ask("q", 2, lambda: slow(2))
    before = desk.ask("q", 3, lambda: slow(3))
    assert (before.value, before.after, before.working) == (1, 1, True)
    gate.set()
    assert desk.wait("q", 3, lambda: slow(3)) == 3
    assert 2 not in begun
    desk.close()


def test_the_desk_hands_on_a_complaint() -> None:
    """A question without an answer says why, and is not asked again for the same entry."""
    desk, asked = Desk(), []

    def work() -> None:
        asked.append(1)
        raise CounselError("nothing to ask about")

    for _ in range(3):
        answer = desk.ask("q", 1, work, patience=5)
        assert answer.fault is not None
        assert answer.fault.what == "nothing to ask about"
        assert not answer.working
    assert len(asked) == 1
    desk.close()


def test_figures_of_the_stand_in_are_ordered() -> None:
    """The figures these tests use are themselves well formed."""
    f = figure(5, 2, 9)
    assert f["p05"] < f["p25"] < f["median"] < f["p75"] < f["p95"]
