"""Every error that inkhorn raises on purpose, as one tree.

::

    InkhornError                 what went wrong, where, how to mend it
    ├── EntryError               an entry that cannot be recorded
    │   ├── UnknownKeyError      a key the kind does not have
    │   ├── MissingKeyError      a key the kind needs
    │   ├── QuantityError        a quantity that cannot be read, or of the wrong dimension
    │   ├── UnknownNameError     a material, liquid, word or thing nobody has mentioned
    │   ├── ImpossibleError      more than was ever put in, more than a vessel holds
    │   ├── TimeError            dated inside another step's time, or in no known form
    │   └── EntryErrors          all the faults of one entry at once
    ├── HandbookError            a table row that is missing or malformed
    ├── StoreError               the workshop file cannot be opened, read or written
    ├── PictureError             a picture that cannot be read or measured
    ├── EstimateError            nothing to estimate, or the sampler gave up
    └── CounselError             nothing that counsel could be asked about

``InkhornError.sentence()`` is the one place where the parts become text; the
command, the page and the JSON answer all use it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


class InkhornError(Exception):
    """An error with its three parts: what, where and how to mend it.

    Parameters
    ----------
    what : str
        What is wrong, as a plain sentence without a final stop.
    where : str, optional
        The entry, key, file or row concerned.
    mend : str, optional
        What the user can do about it, as a sentence without a final stop.
    """

    def __init__(self, what: str, *, where: str = "", mend: str = "") -> None:
        super().__init__(what, where, mend)
        self.what = what
        self.where = where
        self.mend = mend

    def sentence(self) -> str:
        """Return the whole error as text: where, what, how to mend."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head}. {self.mend}." if self.mend else f"{head}."

    def __str__(self) -> str:
        return self.sentence()

    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (type(self), self.what, self.where, self.mend))

    def to_dict(self) -> dict[str, Any]:
        """Return the parts for a JSON answer."""
        return {"error": type(self).__name__, "what": self.what, "where": self.where, "mend": self.mend}


def _rebuild(kind: type[InkhornError], what: str, where: str, mend: str) -> InkhornError:
    return kind(what, where=where, mend=mend)


class EntryError(InkhornError):
    """An entry that cannot be recorded; the daybook is unchanged."""


class UnknownKeyError(EntryError):
    """A key that this kind of entry does not have."""


class MissingKeyError(EntryError):
    """A key that this kind of entry needs."""


class QuantityError(EntryError):
    """A quantity that cannot be read, is negative, or has the wrong dimension."""


class UnknownNameError(EntryError):
    """A material, liquid, word or thing that inkhorn does not know."""


class ImpossibleError(EntryError):
    """More than was ever put in, or more than the vessel holds."""


class TimeError(EntryError):
    """A date in no known form, or inside the time of another step on the same vessel."""


class EntryErrors(EntryError):  # noqa: N818 - several EntryError at once
    """All the faults of one entry, each an `EntryError` of its own in ``faults``.

    Parameters
    ----------
    faults : sequence of InkhornError
        One or more.
    """

    def __init__(self, faults: Sequence[InkhornError]) -> None:
        self.faults: tuple[InkhornError, ...] = tuple(faults)
        first = self.faults[0]
        if len(self.faults) == 1:
            super().__init__(first.what, where=first.where, mend=first.mend)
        else:
            super().__init__(f"{len(self.faults)} things are wrong with the entry")

    def sentence(self) -> str:
        """Return every fault as a sentence of its own."""
        if len(self.faults) == 1:
            return self.faults[0].sentence()
        return " ".join([f"{self.what}:", *(fault.sentence() for fault in self.faults)])

    def __reduce__(self) -> tuple[object, ...]:
        return (type(self), (self.faults,))

    def to_dict(self) -> dict[str, Any]:
        """Return the parts for a JSON answer, the faults one by one."""
        return {**super().to_dict(), "faults": [fault.to_dict() for fault in self.faults]}


class HandbookError(InkhornError):
    """A handbook row that is missing or malformed."""


class StoreError(InkhornError):
    """The workshop file cannot be opened, read or written."""


class PictureError(InkhornError):
    """A picture that cannot be read or measured."""


class EstimateError(InkhornError):
    """Nothing to estimate, or a sampler that gave up and says so."""


class CounselError(InkhornError):
    """A question that counsel cannot answer."""
