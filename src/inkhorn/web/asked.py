"""The keys of an entry as questions that a maker would be asked: what stands over a field, and an example beneath it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

from inkhorn.report import lines

if TYPE_CHECKING:
    from inkhorn.web.fields import Bench

_MOMENT = re.compile(r"\b\d{4}-\d\d-\d\dT\d\d:\d\d\b")
_ENTRY = re.compile(r"\bentry (\d+)\b")
_MOST = 8  # names offered for an answer
#: Which names of the bench answer the question of a key.
_NAMES: Mapping[str, str] = {
    **dict.fromkeys(("vessel", "into", "from", "marc_of"), "vessels"),
    "lot": "lots",
    "support": "supports",
    "pen": "pens",
    "trial": "trials",
    "against": "exemplars",
}

#: (question, example) by kind and key, or by key alone where every kind asks alike.
_ASKED: Mapping[str, tuple[str, str]] = {
    "at": ("When", "when it began"),
    "who": ("Who", "who did or noticed it"),
    "note": ("A note beside it", ""),
    "vessel": ("Which vessel", ""),
    "into": ("Into", "a pot, a tub"),
    "from": ("From", ""),
    "lot": ("What", "sumac leaf, vitriol, plum gum"),
    "material": ("What it is", "sumac leaf, alder cones, plum gum"),
    "amount": ("How much", "200 g, three handfuls, a cup, a third of the jar"),
    "source": ("From where", "the north bank, or bought in a tin"),
    "part": ("Which part of it", "leaf, bark, fallen cones, or which grade"),
    "age": ("How old it was", "this year's, three years in a jar"),
    "leave": ("By whose leave", ""),
    "liquid": ("In which liquid", "rainwater, vinegar"),
    "liquid_amount": ("How much of that", "about 2 L, six cups"),
    "for": ("For how long", "2 h, overnight, three days"),
    "temperature": ("How warm it was", "18 °C"),
    "pieces": ("In which pieces", "whole, chips, crushed, powder, or 2 mm"),
    "covered": ("Under a lid", "yes or no"),
    "heat": ("At what heat", "gentle, simmer, boil"),
    "marc_of": ("Or the spent leaf or bark of", "the vessel in which it was soaked before"),
    "trial": ("Call the trial", "t5"),
    "support": ("On", "goat parchment, rag paper"),
    "method": ("How", "dip, drop, pen, line or pangram"),
    "pen": ("With", "reed 3 mm, goose quill"),
    "thinned": ("Thinned", "1 in 8: one drop of ink in eight"),
    "angle": ("How steep the page lay", "30 deg"),
    "of": ("Of what", "vessel:pot, trial:t3"),
    "what": ("What you noticed", ""),
    "value": ("What you found", ""),
    "sd": ("Give or take", ""),
    "with": ("Read with", "strip, meter, jug"),
    "against": ("Beside which page", ""),
    "water": ("The same of plain water", "8 s"),
    "text": ("What is worth keeping", ""),
    "gather.lot": ("Call it", "left empty, it is called what it is"),
    "add.lot": ("What", "sumac leaf, vitriol, plum gum"),
    "add.liquid": ("Or which liquid", "rainwater, vinegar"),
    "add.up_to": ("Or up to", "500 ml in the vessel"),
    "pour.amount": ("How much", "all, half, 50 ml"),
    "reduce.to": ("Down to", "about 700 ml, a third"),
    "steep.amount": ("How much of it", "640 g, three handfuls; all of it unless said"),
    "strain.into": ("Into", "where the liquor goes; the same vessel where the marc is only set aside"),
    "bring.vessel": ("What it is in", "the blue jar, an inkhorn: call it what you like"),
    "bring.material": ("What it was made of", "oak galls, sumac leaf; or the name of the liquid"),
    "bring.amount": ("How much there is", "about 200 ml, a cup"),
    "prepare.lot": ("What", "which of your materials"),
    "prepare.how": ("What you do with it", "dry, crush, grind or wash"),
    "prepare.to": ("What it is then", "180 g, a cup, or pieces of 2 mm"),
    "vessel.name": ("Call it", "tub, blue jar"),
    "vessel.capacity": ("How much it holds, full to the brim", "6 L, or 4 cups"),
    "vessel.made_of": ("What it is made of", "stoneware, glass, iron: iron and aluminium change an ink"),
    "vessel.depth": ("How deep it is inside", "12 cm: then an amount can be told in fingers"),
    "support.name": ("Call it", "goat 1"),
    "support.material": ("What it is", "goat parchment, rag paper"),
    "support.side": ("Which side you write on", ""),
    "support.preparation": ("How it was prepared", "pounced and scraped"),
    "pen.name": ("Call it", "broad reed"),
    "pen.cut": ("What it is", "reed, goose quill, metal nib"),
    "pen.width": ("How wide its edge is", "3 mm"),
    "warm.to": ("How warm", "40 °C"),
    "store.how": ("How you put it away", "in a stoppered jar, in the cellar"),
    "discard.amount": ("How much", "half, 50 ml, all"),
    "neutralise.lot": ("What you put in", "iron filings, iron nails, chalk"),
    "weather.lot": ("Which stone", "pyrite, marcasite"),
    "crystallise.lot": ("Call the crystals", "first crop"),
    "crystallise.amount": ("How much you took out", "30 g, three spoonfuls"),
}


def question(kind: str, key: str) -> str:
    """Return what stands over the field of a key."""
    return _of(kind, key)[0]


def example(kind: str, key: str) -> str:
    """Return an example of an answer, or a word on what is meant; "" where the question says enough."""
    return _of(kind, key)[1]


def offered(asks: Mapping[str, Any], bench: Bench) -> tuple[str, ...]:
    """Return what can be tapped for the answer to a question: its own choices, or the names on the bench, newest first."""
    own = tuple(str(choice) for choice in asks.get("choices", ()))
    named: tuple[str, ...] = getattr(bench, _NAMES.get(str(asks.get("field")), ""), ())
    return own or named[::-1][:_MOST]


def explained(asks: Mapping[str, Any]) -> str:
    """Return what helps to answer a question; where that is only the record's own word for a key, an example instead."""
    mend, key = str(asks.get("mend") or ""), str(asks.get("field") or "")
    if mend.startswith(f"{key}:"):
        return example(str((asks.get("partial") or {}).get("kind")), key)
    return mend


def helped(text: str) -> Markup:
    """Return a complaint or a question for the page: moments as a maker writes them, an entry with the way to it."""
    plain = _MOMENT.sub(lambda found: lines.when({"at": found[0]}), text)
    linked = _ENTRY.sub(r'<a href="/entry/\1">entry \1</a>', str(escape(plain)))
    return Markup(linked)  # noqa: S704 - escaped above; only figures stand in the link


def _of(kind: str, key: str) -> tuple[str, str]:
    found = _ASKED.get(f"{kind}.{key}") or _ASKED.get(key)
    return found or (key.replace("_", " ").capitalize(), "")
