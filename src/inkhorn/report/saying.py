"""A sentence said at the bench: understood, read back, and recorded at once where nothing was guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

import attrs

from inkhorn.daybook.arriving import step_key
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.schema import moment
from inkhorn.errors import InkhornError
from inkhorn.report import lines
from inkhorn.report.answers import Receipt
from inkhorn.sentences.answer import Understood
from inkhorn.sentences.understand import understand


@attrs.frozen(kw_only=True)
class Said:
    """What came of a sentence.

    Parameters
    ----------
    understood : Understood
        What was made of it.
    receipts : tuple of Receipt
        Of each entry that was recorded; empty where a yes or an answer is wanted, or nothing was to be recorded.
    faults : tuple of str
        Why the daybook would not take an entry that was understood.
    """

    understood: Understood
    receipts: tuple[Receipt, ...] = ()
    faults: tuple[str, ...] = ()

    @property
    def outcome(self) -> str:
        """One word: "recorded", "understood" (not recorded), "guessed" (a yes is wanted), "asked" or "refused"."""
        if self.receipts:
            return "recorded"
        if self.understood.question is not None:
            return "asked"
        if self.faults or not self.understood.entries:
            return "refused"
        return "guessed" if self.understood.guesses else "understood"

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        found = self.understood
        question = attrs.asdict(found.question) if found.question else None
        return {
            "said": found.said,
            "outcome": self.outcome,
            "entries": [
                {"entry": entry, "sentence": f"{lines.sentence(entry)}.", "when": lines.when(entry)} for entry in found.entries
            ],
            "recorded": [receipt.to_dict() for receipt in self.receipts],
            "question": question and {**question, "choices": list(question["choices"]), "partial": dict(found.partial)},
            "guesses": list(found.guesses),
            "unread": list(found.unread),
            "why": self.faults[0] if self.faults else found.refused,
        }  # fmt: skip


def say(
    text: str,
    book: Iterable[Recorded],
    receive: Callable[..., Receipt],
    *,
    who: str | None = None,
    at: str | datetime | None = None,
    answer: str | None = None,
    yes: bool = False,
    dry: bool = False,
    as_remark: bool = False,
    key: str = "",
) -> Said:
    """Understand a sentence and record what it says.

    Parameters
    ----------
    text : str
        What was said.
    book : iterable of Recorded
        The daybook so far.
    receive : callable
        Records one entry.
    who : str, optional
        Who says it.
    at : str or datetime, optional
        When it is said; now if left out.
    answer : str, optional
        The answer to the question that the same sentence led to.
    yes : bool
        Whether what was guessed is confirmed.
    dry : bool
        Whether it is only to be understood.
    as_remark : bool
        Whether it is to be kept as a remark, whatever it says.
    key : str
        What comes again under the same key is kept once.
    """
    now = moment(at, "at") if isinstance(at, str) else at
    now = (now or datetime.now().astimezone()).replace(tzinfo=None, microsecond=0)
    if as_remark:
        entry = {
            "at": now.isoformat(timespec="minutes"),
            "kind": "remark",
            "text": text,
            **({"who": who} if who else {}),
        }
        found = Understood(said=text, entries=(entry,))
    else:
        found = understand(f"{text.rstrip(' .!')}, {answer}" if answer else text, book, now, who)
    if dry or found.question is not None or not found.entries or (found.guesses and not yes):
        return Said(understood=found)
    receipts: list[Receipt] = []
    try:
        for n, entry in enumerate(found.entries, 1):
            receipts.append(receive(entry, key=step_key(key, n)))
    except InkhornError as error:
        return Said(understood=found, receipts=tuple(receipts), faults=(error.sentence(),))
    return Said(understood=found, receipts=tuple(receipts))
