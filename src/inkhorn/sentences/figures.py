"""Figures whose name is told: pH, density, dry residue, drops, iron, and what they were read of."""

from __future__ import annotations

import re

import attrs

from inkhorn.sentences.answer import ask
from inkhorn.sentences.noticing import LIMITS, Entry, Noticing, limited
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.settling import settle

_DIMENSION = {
    "mass": ("MASS",), "volume": ("VOLUME", "LENGTH"), "temperature": ("TEMP",), "ph": ("NUMBER",), "specific_gravity": ("NUMBER", "CONC"),
    "barkometer": ("BARK", "NUMBER", "TEMP"), "brix": ("BRIX", "NUMBER", "PERCENT"), "dry_residue": ("CONC", "PERCENT"), "viscosity": ("VISCOSITY",),
    "drop_mass": ("MASS",), "ten_drops": ("MASS", "VOLUME"), "discharge": ("TIME",), "total_iron": ("CONC", "PERCENT"), "total_phenols": ("CONC", "PERCENT"),
    "gum": ("CONC", "PERCENT"), "line_width": ("LENGTH",), "raggedness": ("LENGTH",),
}  # fmt: skip
_BARE = frozenset({"ph", "specific_gravity", "barkometer", "brix"})
_OF_TRIAL = frozenset({"line_width", "raggedness"})


def named_figure(n: Noticing) -> bool:
    """Read a figure whose name is told: pH, density, dry residue, drops, iron, ..."""
    what = _what_of(n)
    if any(_ten(p) for p in n.clause.phrases) and n.clause.has("TIME") and not n.clause.has("LOT", "LIQUID"):
        raise ask(
            "value",
            "Ten drops are told by their weight: what did they weigh?",
            mend="Give the mass or volume of ten drops",
        )
    if what is None or what not in _DIMENSION or what in _OF_TRIAL:
        return False
    if what == "gum" and n.clause.has("P:into", "ARROW"):
        return False  # "5 % gum into the jar" was put in
    several = _several(n, what)
    if several:
        return True
    fits = [p for p in n.amounts(*_DIMENSION[what]) if not _ten(p)]
    water = list(n.free("LIQUID"))
    beside = water[0] if water and what in ("drop_mass", "ten_drops", "discharge") else None
    if beside is not None and beside.amount is not None:
        fits = [p for p in fits if p is not beside]
    figure = next(
        (
            p
            for p in fits
            if (p.prep not in ("as", "for") and p.thing is None)
            or p.type in ("LOT", "LIQUID", "VESSEL", "LIQUOR")
        ),
        None,
    )
    if figure is None:
        bare_number = (
            n.clause.has("NUMBER")
            and not n.clause.has("LOT", "LIQUID", "TRIAL")
            and len(list(n.amounts("NUMBER"))) == 1
        )
        if bare_number and what not in _BARE:
            raise ask("value", "What is its unit?", mend="Give the figure with its unit")
        if n.clause.has("LOT", "LIQUID", "amount"):
            return False
        raise ask("value", "What was the figure?", mend="Give the figure with its unit")
    bare = (
        what in _BARE
        and figure.amount is not None
        and figure.amount.type in ("NUMBER", "TEMP", "BARK", "BRIX")
    )
    n.take(figure)
    if what in _RANGES:
        _within(figure, what)
    if (
        n.clause.said[figure.start : figure.end].casefold().startswith("from ")
        and figure.amount
        and "-" in figure.amount.value
    ):
        raise ask("value", "It changed: what is it now?", mend="Give the figure as it is now")
    value = limited(attrs.evolve(figure, prep=_limit_before(n, figure) or figure.prep), bare=bare)
    more: Entry = {}
    if beside is not None:
        more["water"] = _of_water(n, beside, figure)
    elif water:
        return False
    _told_as(n, what, more)
    for phrase in n.clause.phrases:
        if (
            phrase.type == "WHAT"
            or _ten(phrase)
            or (phrase.sort == "phrase" and phrase.bare and phrase.prep == "through")
        ):
            n.take(phrase)
    _method_words(n, what)
    of = _subject(n, what, figure)
    if of is None:
        return False
    standard = more.pop("as", "")
    n.add(of, what, f"{value}{standard}", **more)
    return True


_RANGES = {
    "ph": (0, 14),
    "specific_gravity": (0.7, 1.8),
}  # numbers-in-code: a figure beyond is a slip of the tongue
_ASKS = {
    "ph": "A pH lies between 0 and 14: what was it?",
    "specific_gravity": "A specific gravity is a figure like 1.03: what was it?",
}


def _within(figure: Phrase, what: str) -> None:
    """Ask where a figure lies off its scale."""
    if figure.amount is None or figure.amount.type not in ("NUMBER", "TEMP"):
        return
    low, high = _RANGES[what]
    numbers = [float(text) for text in re.findall(r"\d+(?:\.\d+)?", figure.qty.figure if figure.qty else "")]
    if any(not low <= number <= high for number in numbers):
        raise ask("value", _ASKS[what], mend="Give the figure, for example 3.5 or 1.03")


def _limit_before(n: Noticing, figure: Phrase) -> str:
    """Return the limit that stands before the name of a figure: "below pH 2"."""
    for phrase in n.clause.phrases:
        limits = phrase.sort == "single" and phrase.type == "PREP" and phrase.thing is not None
        if limits and phrase.thing and phrase.thing.value in LIMITS and phrase.start < figure.start:
            return n.take(phrase).thing.value  # type: ignore[union-attr]
    return ""


def _what_of(n: Noticing) -> str | None:
    words = [p.thing.value for p in n.clause.phrases if p.sort == "single" and p.type == "WHAT" and p.thing]
    words = [w for w in words if w not in ("surface", "side", "flow", "across", "edge")]
    if n.clause.has("CONC", "PERCENT"):
        words = [word for word in words if word != "lab"]
    drop = any(p.type == "METHOD" and p.thing and p.thing.value == "drop" for p in n.clause.phrases)
    if (
        drop
        and not words
        and n.clause.has("MASS")
        and not n.clause.has("LOT", "LIQUID_ADD", "TRIAL", "SUPPORT")
    ):
        return "drop_mass"
    tools = {
        p.thing.value for p in n.clause.phrases if p.sort == "single" and p.type == "INSTRUMENT" and p.thing
    }
    drops = any(_ten(p) for p in n.clause.phrases)
    one = next(
        (p for p in n.clause.phrases if p.qty is not None and p.qty.text in ("1 drop", "1 drops")), None
    )
    if one is not None and n.clause.has("MASS") and not n.clause.has("LOT", "TRIAL", "SUPPORT", "DILUTION"):
        n.take(one)
        return "drop_mass"
    if "density" in words:
        return "specific_gravity" if n.clause.has("NUMBER", "CONC") else None
    if words:
        return "ten_drops" if drops and words[0] == "mass" else words[0]
    if drops and n.clause.has("MASS", "VOLUME") and not n.clause.has("LOT", "LIQUID_ADD"):
        return "ten_drops" if sum(1 for p in n.clause.phrases if p.amount) > 1 else None
    if n.clause.has("BARK") or "barkometer" in tools:
        return "barkometer"
    if n.clause.has("BRIX") or ("refractometer" in tools and n.clause.has("NUMBER", "PERCENT")):
        return "brix"
    if n.clause.has("VISCOSITY"):
        return "viscosity"
    if "hydrometer" in tools and n.clause.has("NUMBER"):
        return "specific_gravity"
    if "strip" in tools and n.clause.has("NUMBER") and not n.clause.has("CONC"):
        return "ph"
    if "test strip" in tools and n.clause.has("CONC"):
        return "total_iron"
    if _runs_out(n) and n.clause.has("TIME"):
        return "discharge"
    if n.clause.has("CONC", "PERCENT") and _gum(n):
        return "gum"
    return None


def _gum(n: Noticing) -> bool:
    return any(
        n.clause.scene.role(name) == "gum" for p in n.clause.all("LOT") if p.thing for name in p.thing.names
    )


def _runs_out(n: Noticing) -> bool:
    said = n.clause.said.casefold()
    tools = {p.thing.value for p in n.clause.phrases if p.type == "INSTRUMENT" and p.thing}
    return (
        bool(tools & {"syringe", "cup", "3 mm cup", "4 mm cup", "5 mm cup", "6 mm cup"})
        or "run out" in said
        or "ran out" in said
    )


def _ten(phrase: Phrase) -> bool:
    return phrase.qty is not None and phrase.qty.text in ("10 drop", "10 drops")


def _several(n: Noticing, what: str) -> bool:
    """Read one figure after the other: "pH of the pot 4, of the crock 3.2"."""
    vessels = [p for p in n.free("VESSEL") if p.thing and p.thing.value]
    figures = [p for p in n.amounts(*_DIMENSION[what]) if p.bare]
    if len(vessels) != 2 or len(figures) != 2:
        return False
    order = sorted((*vessels, *figures), key=lambda p: p.start)
    if [p in vessels for p in order] != [True, False, True, False]:
        return False
    for phrase in (*order, *n.free("WHAT")):
        n.take(phrase)
    for vessel, figure in ((order[0], order[1]), (order[2], order[3])):
        n.add(
            f"vessel:{vessel.thing.value if vessel.thing else ''}", what, limited(figure, bare=what in _BARE)
        )
    return True


def _of_water(n: Noticing, beside: Phrase, figure: Phrase) -> str | None:
    n.take(beside)
    if beside.qty is not None:
        return _with_unit(beside, figure)
    for phrase in n.amounts("NUMBER", *(() if figure.amount is None else (figure.amount.type,))):
        if phrase.start > beside.start or beside.prep == "for":
            n.take(phrase)
            return _with_unit(phrase, figure)
    raise ask("water", "What was the figure with water?", mend="Give it with its unit")


def _with_unit(phrase: Phrase, figure: Phrase) -> str:
    qty, beside = phrase.qty, figure.qty
    assert qty is not None  # noqa: S101 - both are amounts
    assert beside is not None  # noqa: S101 - both are amounts
    return qty.bare(beside.unit) if qty.dimension == "number" else qty.text


def _told_as(n: Noticing, what: str, more: Entry) -> None:
    """Read "as tannic acid" of phenols."""
    if what != "total_phenols":
        return
    for phrase in n.clause.phrases:
        if phrase.type not in ("LOT", "MATERIAL") or phrase.thing is None:
            continue
        if phrase.prep == "as" or (phrase.prep == "in" and phrase.thing.value.endswith("acid")):
            n.take(phrase)
            name = n.clause.said[phrase.thing.start : phrase.thing.end].casefold()
            if name != "gallic acid":
                more["as"] = f" as {name}"


def _method_words(n: Noticing, what: str) -> None:
    for phrase in n.free("METHOD"):
        if what in ("drop_mass", "ten_drops"):
            n.take(phrase)


def _subject(n: Noticing, what: str, figure: Phrase) -> str | None:
    """Return what a figure was read of."""
    if n.clause.has("TRIAL", "EXEMPLAR", "SUPPORT"):
        return None
    vessel = n.clause.first("VESSEL")
    if what == "gum" and figure.amount is not None and figure.amount.type == "CONC" and vessel is None:
        for phrase in n.free("LOT", "LIQUOR"):  # so much in a litre is of a liquor, never of the gum itself
            n.take(phrase)
        return n.vessel()
    lots = [p for p in n.free("LOT") if p.prep != "as"] + ([figure] if figure.type == "LOT" else [])
    if what == "gum" and vessel is not None:
        for phrase in lots:  # the gum that is dissolved in it
            n.take(phrase)
        return n.vessel()
    if vessel is not None or (n.clause.has("LIQUOR") and not lots):
        if lots:
            return None
        return n.vessel()
    said_once = len(re.findall(r"\bgum\b", n.clause.said.casefold())) == 1
    if what == "gum" and lots and said_once and len(n.clause.scene.holding()) > 0 and not n.clause.verbs:
        raise ask(
            "of", "Is that so much gum in the ink, or of the lot of gum?", *n.clause.scene.holding(),
            mend="Name the vessel, or say “the plum gum is 90 % gum”",
        )  # fmt: skip
    if lots:
        if len(lots) > 1 and len({settle(p.thing, "of") for p in lots if p.thing}) > 1:
            return None
        for phrase in lots:
            n.take(phrase)
        if n.clause.has("LIQUOR"):
            return n.vessel()
        return f"lot:{settle(lots[0].thing, 'of')}" if lots[0].thing else None
    if n.clause.has("MATERIAL"):
        return None
    return n.vessel()
