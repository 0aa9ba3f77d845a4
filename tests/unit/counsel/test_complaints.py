"""A complaint in everyday words finds its key, and what is none is refused with the list."""

from __future__ import annotations

import pytest

from inkhorn.counsel.wrong.complaints import complaints, resolve_complaint
from inkhorn.errors import CounselError
from inkhorn.handbook.load import tree

WORDINGS = [(name, key) for key, complaint in complaints().items() for name in complaint.names]


@pytest.mark.parametrize(("said", "key"), WORDINGS)
def test_every_wording_means_its_own_complaint(said: str, key: str) -> None:
    """Each wording of the table leads to the complaint it stands under, alone and in a sentence."""
    assert resolve_complaint(said).key == key
    assert resolve_complaint(f"My ink: {said.upper()}!").key == key


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("it's gone all mouldy on top", "mould-within-a-week"),
        ("the ink eats my nibs", "eats-the-nib"),
        ("not dark enough", "pale-and-watery"),
        ("It is not pale, but it flakes", "flakes-off"),
        ("sedimant", "sediment-in-the-pot"),
        ("pale-and-watery", "pale-and-watery"),
        ("crisp but pale lines", "crisp-but-pale"),
    ],
)
def test_everyday_sentences_are_understood(said: str, key: str) -> None:
    """Words around it, a denial of another complaint and a slip of spelling do not lead astray."""
    assert resolve_complaint(said).key == key


@pytest.mark.parametrize("said", ["it stinks", "", "no good", "my cat drank it"])
def test_what_is_none_is_refused_with_the_list(said: str) -> None:
    """An unknown complaint is an error that names every known one."""
    with pytest.raises(CounselError) as error:
        resolve_complaint(said)
    assert all(complaint.names[0] in error.value.mend for complaint in complaints().values())


def test_no_wording_stands_under_two_complaints() -> None:
    """A wording that meant two things would be answered by chance."""
    names = [name for name, _ in WORDINGS]
    assert len(names) == len(set(names))


def test_the_complaints_that_the_trade_knows_are_there() -> None:
    """Ten complaints, each with causes of its own (common practice of the trade)."""
    assert len(complaints()) == 10
    for key in complaints():
        assert len(tree()["complaints"][key]["from"]) >= 4
