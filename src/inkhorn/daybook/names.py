"""Names: of handbook materials, liquids, supports and pens, and those a maker gives to things."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from inkhorn.errors import UnknownNameError
from inkhorn.handbook.load import group
from inkhorn.units import fold

_NAME = re.compile(r"[^\W_](?:[\w.'+()-]*[\w.')])?")
_KINDS: Mapping[str, str] = {
    "materials": "material",
    "liquids": "liquid",
    "supports": "support",
    "pens": "pen",
}


@functools.cache
def known(table: str) -> Mapping[str, str]:
    """Return every folded name of a handbook group with the key it stands for.

    Parameters
    ----------
    table : str
        "materials", "liquids", "supports" or "pens".
    """
    out: dict[str, str] = {}
    for key, node in group(table).items():
        if table == "pens" and node.get("role") != "pen":
            continue  # ways of marking without a pen share the table
        for name in (key, *node.get("names", ())):
            out[fold(name)] = key
    return MappingProxyType(out)


def find(text: str, *tables: str) -> str | None:
    """Return the handbook key of a name in the first table that has it, or None."""
    folded = fold(text)
    return next((key for table in tables if (key := known(table).get(folded))), None)


def guess(text: str, *tables: str) -> str | None:
    """Return the handbook key that a thing's name begins with: "goat-1", "reed-3mm", "sumac-leaf-2027".

    Words are dropped from the end until what is left is a handbook name; a
    word that is dropped must hold a digit, be a single letter or the "mm" of
    "reed 3 mm", so that "oak-chest" is not taken for oak.
    """
    words = re.split(r"[\s_-]+", text.strip())
    while words:
        key = find(" ".join(words), *tables)
        last = words[-1]
        if key is not None or not (any(c.isdigit() for c in last) or len(last) == 1 or last == "mm"):
            return key
        words = words[:-1]
    return None


def nearest(text: str, names: Iterable[str]) -> str | None:
    """Return the nearest of ``names`` as it was given, or None."""
    by_fold = {fold(name): name for name in names}
    near = difflib.get_close_matches(fold(text), by_fold, n=1, cutoff=0.5)
    return by_fold[near[0]] if near else None


def resolve(text: str, *tables: str, where: str = "") -> str:
    """Return the handbook key of a name; raise `UnknownNameError` naming the nearest.

    Case, plural and hyphens do not matter: "Sumac leaves" is "sumac-leaf".
    """
    key = find(text, *tables)
    if key is not None:
        return key
    sort = _KINDS[tables[0]]
    names = [name for table in tables for name in known(table)]
    near = nearest(text, names)
    mend = f"The nearest is {near}" if near else f"Known: {', '.join(sorted(set(names))[:10])}, ..."
    raise UnknownNameError(f"{text!r} is no {sort} that inkhorn knows", where=where, mend=mend)


def resolve_material(text: str, where: str = "") -> str:
    """Return the key of a material (``"sumac-leaf"``) by any of its names."""
    return resolve(text, "materials", where=where)


def resolve_liquid(text: str, where: str = "") -> str:
    """Return the key of a liquid that needs no gathering (``"spring-water"``)."""
    return resolve(text, "liquids", where=where)


def resolve_support(text: str, where: str = "") -> str:
    """Return the key of a support (``"goat-parchment"``)."""
    return resolve(text, "supports", where=where)


def resolve_pen(text: str, where: str = "") -> str:
    """Return the key of a pen (``"reed"``)."""
    return resolve(text, "pens", where=where)


def said(key: str) -> str:
    """Return a handbook key as it is said in a sentence: ``"sumac leaf"``."""
    return key.replace("-", " ")


def thing_name(text: str, where: str = "") -> str:
    """Return the name of a lot, vessel, trial, ... as it is stored: lower case, hyphens for spaces."""
    name = re.sub(r"[\s_]+", "-", text.strip().casefold())
    if not name or len(name) > 60 or not _NAME.fullmatch(name):
        raise UnknownNameError(
            f"{text!r} cannot be the name of a thing",
            where=where,
            mend="Use letters, digits and hyphens, 60 at most, for example sumac-leaf or t1",
        )
    return name
