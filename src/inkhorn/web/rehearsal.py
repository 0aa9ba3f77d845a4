"""A day told over before it is kept: each line is read knowing the lines before it, and nothing of it is recorded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.check import check
from inkhorn.daybook.wire import decode
from inkhorn.report import lines, saying
from inkhorn.report.answers import Receipt


@attrs.define
class Rehearsal:
    """The daybook as it would be after the lines that were read so far.

    Parameters
    ----------
    book : list of Recorded
        The daybook as it is, to begin with.
    """

    book: list[Recorded]

    @classmethod
    def of(cls, recorded: Iterable[Recorded]) -> Rehearsal:
        """Return a rehearsal that begins with a daybook."""
        return cls(list(recorded))

    def say(self, text: str, **how: Any) -> dict[str, Any]:
        """Return what would come of a line; ``how`` as `inkhorn.report.saying.say` takes it."""
        return saying.say(text, tuple(self.book), self._receive, yes=True, **how).to_dict()

    def _receive(self, entry: Mapping[str, Any], *, key: str = "") -> Receipt:
        del key
        raw = dict(entry)
        typed = decode(raw)
        notices = check(typed, self.book)
        number = max((line.number for line in self.book), default=0) + 1
        self.book.append(Recorded(number=number, entry=typed, raw=raw, recorded_at=typed.at))
        return Receipt(
            number=number, sentence=f"{lines.sentence(raw)}.", notices=notices, flags=(), cautions=()
        )
