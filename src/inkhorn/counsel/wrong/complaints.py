"""What a maker complains of: a few complaints, each in many everyday wordings."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Mapping
from types import MappingProxyType

import attrs

from inkhorn.errors import CounselError
from inkhorn.handbook.load import group

#: Likeness of two wordings from which one counts as the other misspelt.
_LIKE = 0.8  # numbers-in-code: a setting of the search for a misspelt word
_NOT = re.compile(r"\b(?:not|no longer|never|isn't|no)\s*$")


@attrs.frozen(kw_only=True)
class Complaint:
    """One complaint: its handbook key, how it is said in a sentence, its wordings, its cautions."""

    key: str
    words: str
    names: tuple[str, ...]
    cautions: tuple[str, ...]


@functools.cache
def complaints() -> Mapping[str, Complaint]:
    """Return the complaints that are known, by key."""
    return MappingProxyType(
        {
            key: Complaint(
                key=key,
                words=str(node["words"]),
                names=tuple(node["names"]),
                cautions=tuple(node.get("cautions", ())),
            )
            for key, node in group("complaints").items()
            if isinstance(node, Mapping) and "names" in node
        }
    )


def resolve_complaint(said: str) -> Complaint:
    """Return the complaint that a maker's words mean.

    The longest wording of the handbook that stands in what was said decides,
    unless a "not" stands before it; failing that, the nearest in spelling.

    Raises
    ------
    CounselError
        If none is meant; the complaints that are known are listed.
    """
    text = _plain(said)
    found = [
        (len(name), complaint)
        for complaint in complaints().values()
        for name in (_plain(complaint.key), *complaint.names)
        if _says(text, name)
    ]
    if found:
        return max(found, key=lambda pair: pair[0])[1]
    known = {name: complaint for complaint in complaints().values() for name in complaint.names}
    near = difflib.get_close_matches(text, known, n=1, cutoff=_LIKE)
    if near:
        return known[near[0]]
    listed = "; ".join(c.names[0] for c in complaints().values())
    raise CounselError(f"no complaint is known in these words: {said!r}", mend=f"Say one of: {listed}")


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9' ]+", " ", text.casefold().replace("-", " ")).strip()


def _says(text: str, name: str) -> bool:
    """Tell whether a text holds a wording as whole words, not denied."""
    return any(
        not _NOT.search(text[: match.start()]) for match in re.finditer(rf"\b{re.escape(name)}s?\b", text)
    )
