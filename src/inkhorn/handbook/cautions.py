"""The usual cautions, by what can hurt; each kind of step names its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from inkhorn.handbook.load import group

_BY_KIND: Mapping[str, tuple[str, ...]] = {
    "gather": ("gathering",),
    "reduce": ("boiling",),
    "weather": ("sulfide", "acid"),
    "neutralise": ("hydrogen", "acid"),
    "crystallise": ("sulfide",),
    "skim": ("mould",),
    "discard": ("waste",),
}


def caution(key: str) -> str:
    """Return the text of one caution."""
    return str(group("cautions")[key]["text"])


def cautions_for(entry: Mapping[str, Any], materials: Iterable[str] = ()) -> tuple[str, ...]:
    """Return the cautions that a step carries, the general line last; nothing where none applies.

    Parameters
    ----------
    entry : mapping
        The entry's JSON form; its kind decides, and how it is done.
    materials : iterable of str
        Handbook keys of what it handles.
    """
    keys = list(_BY_KIND.get(str(entry.get("kind")), ()))
    if entry.get("kind") == "prepare" and entry.get("how") in ("crush", "grind"):
        keys.append("dust")
    for material in materials:
        known = group("materials").get(material, {})
        own = known.get("caution")
        if own and not (own == "gathering" and entry.get("kind") != "gather"):
            keys.append(str(own))
    texts = tuple(caution(key) for key in dict.fromkeys(keys))
    return (*texts, caution("closing")) if texts else ()
