"""The comparison in words."""

from __future__ import annotations

import numpy as np
import pytest

from inkhorn.compare.sentence import fraction_word, ink_words, sentence
from inkhorn.compare.shares import Shares


def _shares(
    parts: dict[str, float],
    *,
    size: float = 3.0,
    shift: tuple[float, float, float] = (3, 0, 0),
    sd: float = 0.1,
) -> Shares:
    rng = np.random.default_rng(0)
    return Shares(
        total=np.full(50, sum(parts.values())),
        parts={name: np.full(50, part) for name, part in parts.items()},
        ink_difference=np.full(50, size),
        ink_shift=np.array(shift) + sd * rng.standard_normal((50, 3)),
        ink_middle=np.array(shift, dtype=float),
        ink_size=size,
    )


def test_whole_sentence() -> None:
    """The sentence must name each cause that matters, the greatest first and the ink last."""
    text = sentence(_shares({"wear": 10.5, "skin": 4.2, "pen": 0.0, "camera": 1.05, "ink": 5.25}))
    assert text == (
        "Of the great difference you see, about half is wear, a fifth the skin, "
        "a twentieth the camera, and a quarter is ink: the ink is a little too pale."
    )


def test_all_ink() -> None:
    """Where the ink alone differs the sentence must say so without odd words."""
    text = sentence(_shares({"wear": 0.0, "skin": 0.0, "pen": 0, "camera": 0, "ink": 12.0}, size=12))
    assert text == "Of the great difference you see, nearly all is ink: the ink is far too pale."


def test_no_ink() -> None:
    """Where the ink is right the sentence must say that too."""
    text = sentence(_shares({"wear": 14.0, "skin": 6.0, "pen": 0, "camera": 0, "ink": 0.1}, size=0.5))
    assert text.endswith("and hardly any is ink: the ink itself is the same to the eye.")


def test_ink_that_does_not_show() -> None:
    """An ink that is off, but hardly shows beside the wear, must be named all the same, and not as a share."""
    text = sentence(_shares({"wear": 14.0, "skin": 6.0, "pen": 0, "camera": 0, "ink": 0.1}, size=6))
    assert text.endswith("and hardly any is ink; yet whole and on the same skin the ink is too pale.")


def test_same_to_the_eye() -> None:
    """Below what an eye can tell, no shares must be named."""
    text = sentence(_shares({"wear": 0.5, "skin": 0, "pen": 0, "camera": 0, "ink": 0.1}, size=0.2))
    assert text == "You would not tell the two apart. The ink itself is the same to the eye."


def test_a_cause_that_hides() -> None:
    """A cause that works against the others must be named as hiding part of the rest."""
    text = sentence(_shares({"wear": 12.0, "skin": 1.0, "pen": 0, "camera": -6.0, "ink": 3.0}))
    assert text.endswith("The camera hides part of the rest.")
    ink = sentence(_shares({"wear": 12.0, "skin": 1.0, "pen": -4.0, "camera": 0, "ink": -3.0}))
    assert ink.endswith(
        "the ink is a little too pale, which hides part of the rest. Pen and hand hide part of it too."
    )
    assert "is ink" not in ink


@pytest.mark.parametrize(
    ("shift", "words"),
    [
        ((5, 0, 0), "too pale"),
        ((-5, 0, 0), "too dark"),
        ((0.5, 0, -5), "too blue"),
        ((4, 0, 5), "too pale and too brown"),
        ((0, 4, 1), "too purple"),
        ((0, -4, 1), "too green"),
    ],
)
def test_directions(shift: tuple[float, float, float], words: str) -> None:
    """The ink's own difference must be named by where it lies in L*, a*, b*."""
    assert ink_words(_shares({"ink": 5.0}, size=5, shift=shift)) == f"the ink is {words}"


def test_doubt_is_said() -> None:
    """Where the draws do not agree on the direction the word "perhaps" must be there."""
    assert "perhaps" in ink_words(_shares({"ink": 3.0}, shift=(2, 0, 0), sd=4))
    assert "perhaps" not in ink_words(_shares({"ink": 3.0}, shift=(2, 0, 0), sd=0.2))


@pytest.mark.parametrize(
    ("whole", "word"),
    [(1.5, "small"), (3.9, "small"), (4.1, "plain"), (9.9, "plain"), (10.1, "great"), (40, "great")],
)
def test_size_in_words(whole: float, word: str) -> None:
    """The whole must be said in a word at the handbook's bounds, and never as a figure."""
    text = sentence(_shares({"wear": whole, "skin": 0, "pen": 0, "camera": 0, "ink": 0}))
    assert text.startswith(f"Of the {word} difference you see, ")
    assert not any(letter.isdigit() for letter in text)


@pytest.mark.parametrize(
    ("fraction", "word"),
    [
        (0.23, "a quarter"),
        (0.48, "half"),
        (0.34, "a third"),
        (0.98, "nearly all"),
        (0.86, "most"),
        (0.06, "a twentieth"),
    ],
)
def test_fraction_words(fraction: float, word: str) -> None:
    """A fraction must be said as the nearest one that people use."""
    assert fraction_word(fraction) == word


def test_ink_within_what_the_page_itself_does() -> None:
    """An ink no further off than the page's own letters differ must be said to be so; one further off not."""
    shares = _shares({"wear": 6.0, "skin": 0, "pen": 0, "camera": 0, "ink": 3.0}, size=3)
    assert sentence(shares, tolerance=4).endswith("The page's own letters differ by as much.")
    assert "own letters" not in sentence(shares, tolerance=2)
    assert "own letters" not in sentence(shares)
