"""The page of sentences is true: each line in its boxes is read as it says."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest

from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

PAGE = Path(__file__).parents[3] / "docs" / "reference" / "sentences.md"


def _lines() -> list[tuple[str, str, str]]:
    out = []
    for bench, box in re.findall(
        r"^```said ?(\w*)\n(.*?)^```", PAGE.read_text("utf-8"), re.MULTILINE | re.DOTALL
    ):
        out += [(bench or "shelf", *line.rsplit(" -> ", 1)) for line in box.strip().splitlines()]
    return out


@pytest.mark.parametrize(("bench", "said", "becomes"), _lines(), ids=lambda text: text[:40])
def test_a_line_of_the_page(bench: str, said: str, becomes: str) -> None:
    """A kind, the name of a reading, "?key" for a question, or "-" for what is refused."""
    book = corpus.set_up(bench).book
    standing = max(line.entry.at for line in book)
    now = standing + timedelta(hours=3 if bench not in ("shelf", "soaking") else 24)
    found = understand(said, book, now)
    if becomes == "-":
        assert not found.entries
        assert not found.question
    elif becomes.startswith("?"):
        assert found.question is not None
        assert found.question.field == becomes[1:]
    else:
        assert found.entries, found
        told = becomes.split(", ")
        assert len(told) == 1 or len(told) == len(found.entries)
        assert all(
            one in {entry["kind"], entry.get("what")} for one, entry in zip(told, found.entries, strict=False)
        )


def test_there_are_lines() -> None:
    """The page has at least forty."""
    assert len(_lines()) >= 40
