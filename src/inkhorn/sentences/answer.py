"""What comes of a sentence: entries, or one short question; and what was left unread."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs


@attrs.frozen(kw_only=True)
class Question:
    """One short question.

    Parameters
    ----------
    text : str
        The question, in a maker's words.
    field : str
        Key of the entry that an answer fills, or "sentence" where the whole is to be said anew.
    choices : tuple of str
        Answers that fit, where there are few.
    mend : str
        What to do about it, as a sentence without a final stop.
    mild : bool
        Whether what it is about may be left out, with a yes, where the sentence says more.
    """

    text: str
    field: str
    choices: tuple[str, ...] = ()
    mend: str = ""
    mild: bool = False


@attrs.frozen(kw_only=True)
class Understood:
    """What was made of a sentence: entries, or a question, or neither and why.

    Parameters
    ----------
    said : str
        The sentence.
    entries : tuple of dict
        Entries as JSON, each with its time; empty where something is asked.
    guesses : tuple of str
        What was guessed; where there is one, a yes is wanted before anything is recorded.
    question : Question, optional
        What is missing or ambiguous.
    refused : str
        Why it is no entry ("it is a plan"), or "".
    unread : tuple of str
        Words that say nothing an entry could hold.
    partial : dict
        What was understood of an entry that a question is asked about.
    """

    said: str
    entries: tuple[dict[str, Any], ...] = ()
    guesses: tuple[str, ...] = ()
    question: Question | None = None
    refused: str = ""
    unread: tuple[str, ...] = ()
    partial: Mapping[str, Any] = attrs.field(factory=dict)

    @property
    def sure(self) -> bool:
        """Whether the entries may be recorded without a yes."""
        return bool(self.entries) and not self.guesses


class Ask(Exception):  # noqa: N818 - it is no error: it asks
    """Something is missing or ambiguous."""

    def __init__(self, question: Question, partial: Mapping[str, Any] | None = None) -> None:
        super().__init__(question)
        self.question = question
        self.partial = dict(partial or {})


def asking(question: Question) -> Ask:
    """Return an `Ask` of a question, to be raised."""
    return Ask(question)


def ask(
    field: str,
    text: str,
    *choices: str,
    mend: str = "",
    partial: Mapping[str, Any] | None = None,
    mild: bool = False,
) -> Ask:
    """Return an `Ask` to be raised; `partial` is what is known of the entry already."""
    return Ask(Question(text=text, field=field, choices=choices, mend=mend, mild=mild), partial)
