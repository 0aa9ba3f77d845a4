"""What "the rest" is of, where more than one vessel holds something."""

from __future__ import annotations

import re

import attrs

from inkhorn.sentences.answer import ask
from inkhorn.sentences.frames import Clause, Filled

#: Words of an amount that is what another step has left.
_REST = ("rest", "remain", "left")


def rest_of(filled: Filled, clause: Clause) -> None:
    """Ask of which vessel "the rest" is, where more than one may be meant."""
    told = filled.taken.get("amount")
    rest = next((p for p in clause.phrases if p.bare and p.qty is not None and p.qty.unit == "rest"), None)
    if told is None and rest is not None and filled.kind in ("rest", "store", "warm", "reduce", "skim"):
        told = rest
    elif filled.kind not in ("pour", "discard") or told is None or filled.values.get("amount") != "all":
        return
    key = "from" if filled.kind == "pour" else "vessel"
    source, into = filled.things.get(key), filled.things.get("into")
    words = clause.said[told.start : told.end].casefold()
    if (source is not None and source.type == "VESSEL") or not any(w in words for w in _REST):
        return
    held = [name for name in clause.scene.holding() if into is None or name != into.value]
    last = clause.scene.last()
    poured = last is not None and last.kind == "pour" and last.entry.at == clause.scene.now
    poured = poured and last is not None and _is_named(str(last.raw["from"]), clause.said)
    if len(held) > 1 and last is not None and poured and filled.kind != "pour":
        name = str(last.raw["from"])  # "poured 250 ml from the pot and threw the rest out"
        filled.things[key] = attrs.evolve(told.words[0], type="VESSEL", value=name, names=(name,), qty=None)
        return
    if len(held) > 1:
        raise ask(key, "The rest of which vessel?", *held, mend="Name the vessel")


def _is_named(name: str, said: str) -> bool:
    """Return whether a vessel is named in a sentence, by its name or a word of it."""
    return any(
        re.search(rf"\b{re.escape(word)}\b", said, re.IGNORECASE) for word in name.split("-") if len(word) > 2
    )
