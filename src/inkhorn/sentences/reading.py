"""What was made of a clause, or of several: entries, a question or a reason, and what they left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs

from inkhorn.sentences.answer import Question

Entry = dict[str, Any]


@attrs.frozen(kw_only=True)
class Reading:
    """What was made of a clause, and how far it is to be put back behind another reading.

    Parameters
    ----------
    cost : float
        The reading that costs least is taken.
    entries : tuple of dict
        What it says.
    question : Question, optional
        What is missing.
    refused : str
        Why it is no entry, or "".
    unread : tuple of str
        What was not read.
    guesses : tuple of str
        What wants a yes.
    partial : dict
        What is known of an entry that is asked about.
    failed : bool
        Whether something that was told found no place.
    idle : bool
        Whether it says nothing of an entry, though it says something.
    told : bool
        Whether a time was told.
    passed : tuple of str
        What was rightly passed over: it is no entry, or says what is not meant.
    """

    cost: float
    entries: tuple[Entry, ...] = ()
    question: Question | None = None
    refused: str = ""
    unread: tuple[str, ...] = ()
    guesses: tuple[str, ...] = ()
    partial: Entry = attrs.field(factory=dict)
    failed: bool = False
    idle: bool = False
    told: bool = False
    passed: tuple[str, ...] = ()


def left_out(words: Sequence[str]) -> tuple[str, ...]:
    """Return what is told of words that were not read, each once."""
    return tuple(f"I left out “{word}”" for word in dict.fromkeys(words) if word)


def not_read(what: Sequence[str]) -> Question:
    """Return the question where something told found no place."""
    quoted = " and ".join(f"“{word}”" for word in dict.fromkeys(what) if word) or "that"
    return Question(
        text=f"I do not see what {quoted} is to be: say it again another way.", field="sentence",
        mend="Say what was done, to what, and how much; or keep it as a remark",
    )  # fmt: skip
