"""What may stand around the figure of a reading: "more than", "as tannic acid"."""

from __future__ import annotations

import re

from inkhorn.handbook.load import value as row_value

_ABOVE = re.compile(
    r"(?:(?:more|greater|higher) than|over|above|at least|not less than|no less than|>=?|≥)\s*", re.IGNORECASE
)
_BELOW = re.compile(
    r"(?:(?:less|lower|fewer) than|under|below|at most|not more than|no more than|<=?|≤)\s*", re.IGNORECASE
)


def limit(value: str | float) -> tuple[str, str | float]:
    """Return "above" or "below" for a reading that only gives a limit ("more than 10 mPa s"), and the figure."""
    if isinstance(value, str):
        for how, words in (("above", _ABOVE), ("below", _BELOW)):
            found = words.match(value.strip())
            if found:
                return how, value.strip()[found.end() :]
    return "", value


_AS = re.compile(
    r"[,;]?\s*(?:\(?\s*(?:as|in)\s+)?(?P<of>gallic acid|tannic acid|catechin|gae|tae|ce)(?:\s+equivalents?)?\s*\)?$",
    re.IGNORECASE,
)
_STANDARDS = {
    "gallic acid": "gallic", "gae": "gallic", "tannic acid": "gallotannin", "tae": "gallotannin",
    "catechin": "condensed", "ce": "condensed",
}  # fmt: skip


def told_as(value: str | float) -> tuple[str | float, float]:
    """Return a figure of phenols without the standard it was told against, and what turns it into gallic acid.

    A gram of a standard counts by its phenol groups, of which gallic acid has one a molecule.
    """
    found = _AS.search(value) if isinstance(value, str) else None
    if found is None or not isinstance(value, str):
        return value, 1.0
    groups = row_value(f"binding.groups.{_STANDARDS[found['of'].casefold()]}")
    return value[: found.start()].strip(), groups / row_value("binding.groups.gallic")
