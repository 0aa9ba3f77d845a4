"""The keys under which entries arrive: what comes again under one is kept once, and steps told in one go share its stem."""

from __future__ import annotations

_MARK = "--"


def step_key(key: str, place: int) -> str:
    """Return the key of one of several entries that are sent in one go; none where the sender gave none.

    Parameters
    ----------
    key : str
        What the sender calls all of them.
    place : int
        Which of them it is.

    Examples
    --------
    >>> step_key("a1", 2)
    'a1--2'
    """
    return f"{key}{_MARK}{place}" if key else ""


def stem(key: str) -> str:
    """Return the beginning that the keys of entries sent in one go share; "" where it was sent alone.

    Examples
    --------
    >>> stem("a1--2"), stem("a1-2")
    ('a1--', '')
    """
    whole, mark, place = key.rpartition(_MARK)
    return f"{whole}{mark}" if whole and place.isdecimal() else ""
