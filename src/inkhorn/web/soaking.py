"""The forms of a beginning: gather or buy, soak, strain, let it stand; and a plain form for every other kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inkhorn.daybook.schema import KINDS
from inkhorn.daybook.words import scale
from inkhorn.web import asked
from inkhorn.web.fields import Bench, Choice, Field, first_names, into, named, vessel, when

_OTHERS = ("bring", "prepare", "vessel", "support", "pen", "warm", "skim", "store", "discard", "neutralise",
           "weather", "crystallise")  # fmt: skip
TITLES: Mapping[str, str] = {
    "bring": "You have a liquor ready already",
    "prepare": "You dry, crush, grind or wash",
    "vessel": "You take a vessel",
    "support": "You take a skin or paper",
    "pen": "You cut a pen",
    "warm": "You warm it",
    "skim": "You skim it",
    "store": "You put it away",
    "discard": "You throw some away",
    "neutralise": "You put in iron or chalk against the acid",
    "weather": "You let a sulfide weather",
    "crystallise": "You let vitriol crystallise",
}
_TILES: Mapping[str, str] = {
    "bring": "Ink or liquor I have",
    "prepare": "Dry, crush, wash",
    "vessel": "A vessel",
    "support": "A skin or paper",
    "pen": "A pen",
    "warm": "Warm",
    "skim": "Skim",
    "store": "Put away",
    "discard": "Throw away",
    "neutralise": "Iron or chalk in",
    "weather": "Weather a stone",
    "crystallise": "Crystallise",
}
# Keys that are answered with one of a few words of the handbook.
_WORDS: Mapping[str, str] = {"prepare.how": "how_prepared", "support.side": "side"}


def others() -> tuple[tuple[str, str], ...]:
    """Return the kinds that have a plain form, each with the word on its tile."""
    return tuple((kind, _TILES[kind]) for kind in _OTHERS)


def materials() -> tuple[str, ...]:
    """Return everything that can be gathered or bought, by its first name."""
    return tuple(sorted(first_names("materials")))


def gather(_bench: Bench, now: str) -> tuple[Field, ...]:
    """Ask what was gathered or bought; where it came from only if one likes."""
    return (
        Field(name="material", label="What", keys=("material",), offers=materials(), hint="sumac leaf, alder cones, plum gum"),
        Field(name="amount", label="How much", keys=("amount",), hint="900 g, two handfuls, a cup"),
        Field(name="source", label="From where", keys=("source",), hint="the north bank, or bought in a tin", needed=False),
        Field(name="leave", label="By whose leave", keys=("leave",), needed=False),
        Field(name="lot", label="Call it", keys=("lot",), hint="left empty, it is called what it is", needed=False),
        when(now),
    )  # fmt: skip


def steep(bench: Bench, now: str) -> tuple[Field, ...]:
    """Ask what is put to soak, in what, and for how long."""
    return (
        Field(name="lot", label="What", keys=("lot",), choices=named(bench.lots), other="or something else" if bench.lots else "what it is", offers=materials()),
        Field(name="amount", label="How much", keys=("amount",), hint="640 g, three handfuls, half of it"),
        Field(name="liquid", label="In", keys=("liquid",), choices=named(first_names("liquids")), value=next(iter(first_names("liquids")), "")),
        Field(name="liquid_amount", label="How much of that", keys=("liquid_amount",), hint="about 5 L, ten cups"),
        Field(name="into", label="Into which vessel", keys=("into",), choices=named(bench.vessels), other="or another vessel" if bench.vessels else "call it", hint="a pot, a tub"),
        Field(name="for", label="For how long", keys=("for",), choices=(Choice(value="1 h", label="an hour"), Choice(value="12 h", label="overnight"), Choice(value="24 h", label="a day"), Choice(value="3 days", label="three days")), other="or so long, as 18 h"),
        Field(name="pieces", label="In which pieces", keys=("pieces",), choices=named(scale("pieces").words), needed=False),
        when(now),
    )  # fmt: skip


def strain(bench: Bench, now: str) -> tuple[Field, ...]:
    """Ask what is strained, and where the liquor goes."""
    return (
        vessel(bench, "Which", value=bench.soaking),
        into(bench),
        when(now),
    )


def rest(bench: Bench, now: str) -> tuple[Field, ...]:
    """Ask what is left to stand, and for how long."""
    times = (("1 h", "an hour"), ("12 h", "overnight"), ("24 h", "a day"), ("7 days", "a week"))
    return (
        vessel(bench, "Which"),
        Field(
            name="for",
            label="For how long",
            keys=("for",),
            choices=tuple(Choice(value=value, label=label) for value, label in times),
            other="or so long",
        ),
        Field(name="covered", label="Covered", keys=("covered",), choices=named(("yes", "no")), needed=False),
        when(now),
    )


def plain(kind: str, bench: Bench, now: str) -> tuple[Field, ...]:
    """Return the questions of any kind of entry: one for each of its keys."""
    out = []
    for key in KINDS[kind].keys:
        known: Sequence[str] = ()
        if key.name in {"vessel", "into", "from"} and kind != "bring":
            known = bench.vessels
        elif key.name == "lot" and kind != "crystallise":
            known = bench.lots
        tables = {
            "material": "supports" if kind == "support" else "materials",
            "cut": "pens",
            "liquid": "liquids",
        }
        offers = first_names(tables[key.name]) if key.name in tables else ()
        words = scale(_WORDS[f"{kind}.{key.name}"]).words if f"{kind}.{key.name}" in _WORDS else ()
        field = Field(
            name=key.name,
            label=asked.question(kind, key.name),
            keys=(key.name,),
            hint="" if known or words else asked.example(kind, key.name),
            choices=named(known or words),
            other="or another" if known else "",
            offers=offers,
            needed=key.needed,
            value=bench.vessel if key.name == "vessel" and known else "",
        )
        out.append(field)
    return (*out, when(now))
