"""What an entry's words for an amount say, before the maker's hand makes it true or not."""

from __future__ import annotations

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity

_ANY = ("mass", "volume", "fraction", "time", "temperature", "length", "power")


@attrs.frozen(kw_only=True)
class Said:
    """An amount as said: its number, unit ("g", "ml", "s", "degC", "mm", "W", "1") and how it was found.

    ``how`` is "measured", "by eye", "range" or "exact"; a share ("1") may be ``of`` a named thing.
    """

    value: float
    unit: str
    how: str = "measured"
    of: str | None = None


def said(text: object, where: str = "simulate") -> Said:
    """Read an amount by its words alone; raise `QuantityError` where it is in no known form."""
    if isinstance(text, Said):
        return text
    if not isinstance(text, str | int | float):
        raise QuantityError(f"{text!r} is no amount", where=where)
    q = read_quantity(text, expect=_ANY, measures=measures(), where=where)
    return Said(value=q.value, unit=q.unit, how=q.how, of=q.of)


def dilution(text: object) -> float:
    """Return the parts in all of a thinning: 8 for ``"1 in 8"``."""
    share = said(text).value
    return share if share >= 1 else 1.0 / share
