"""What is told as a list: a thing a line, or numbered in a row, read as one thing after the other."""

from __future__ import annotations

import re

#: What stands before a thing of a list: a dash, a dot, "1)", "2.", "b.".
_BULLET = re.compile(r"^\s*(?:[-*•–·]\s+|(?:\d{1,2}|[a-z])[.)]\s+)")
#: A number in the midst that counts the things of a list: "1) skimmed it 2) 5 g gum in".
_COUNT = re.compile(r"(?:^|(?<=\s))(\d{1,2})\)\s+")
#: What a line ends with that goes on in the next.
_GOES_ON = re.compile(
    r"(?:[,;:&+-]|\b(?:and|or|of|in|into|to|with|for|from|at|the|a|an|then|but|by|on))\s*$", re.IGNORECASE
)
#: Longer lines were broken for their length, not for their end.
_BROKEN = 60


def one_line(text: str) -> str:
    r"""Return what was said in one line, the things of a list parted by semicolons.

    A line that ends in the midst of a phrase, or that is as long as a line may be, goes on in the next.

    Parameters
    ----------
    text : str
        What was said.

    Examples
    --------
    >>> one_line("- 5 g of gum\n- pH 3.4")
    '5 g of gum; pH 3.4'
    >>> one_line("1) skimmed it 2) 5 g of gum in")
    'skimmed it; 5 g of gum in'
    >>> one_line("5 g of\ngum")
    '5 g of gum'
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    out = ""
    for line in lines:
        listed = len(lines) > 1 and _BULLET.match(line)
        words = " ".join(_BULLET.sub("", line).split() if listed else line.split())
        goes_on = bool(_GOES_ON.search(out)) or (len(out.rpartition(";")[2]) >= _BROKEN and not listed)
        joint = " " if goes_on or out.endswith((".", "!", "?", ";")) else "; "
        out = f"{out}{joint}{words}" if out else words
    return _counted(out)


def _counted(said: str) -> str:
    """Return a row of things that are counted from 1 without their numbers."""
    numbers = [int(found[1]) for found in _COUNT.finditer(said)]
    if len(numbers) < 2 or numbers != list(range(1, len(numbers) + 1)):
        return said
    parts = [part.strip(" ;,") for part in _COUNT.split(said)[2::2]]
    first = said[: next(_COUNT.finditer(said)).start()].strip(" ;,:")
    return "; ".join(part for part in (first, *parts) if part)
