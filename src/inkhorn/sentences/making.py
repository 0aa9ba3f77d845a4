"""Clauses that make or declare a thing: a trial, a vessel, a pen, a skin, a liquor that was brought."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any

import attrs

from inkhorn.sentences.answer import ask
from inkhorn.sentences.frames import DEFERRED, Clause
from inkhorn.sentences.kinds import settle, vessel_of
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.times import timed
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]
Made = tuple[list[Entry], list[Phrase]]
_SIDE = frozenset(
    {
        "VERB",
        "PARTICLE",
        "STRAY",
        "COMMA",
        "MANNER",
        "MOMENT",
        "AHEAD",
        "STRIP",
        "CAPACITY",
        "PREP",
        "CALL",
        "DECLARE",
    }
)


@attrs.define(kw_only=True)
class _Making:
    """A clause while a thing is made of it."""

    clause: Clause
    used: set[int] = attrs.field(factory=set)

    def take(self, *types: str) -> tuple[Phrase, ...]:
        """Take every phrase of some terminals."""
        found = tuple(p for p in self.clause.phrases if p.type in types and p.start not in self.used)
        self.used |= {p.start for p in found}
        return found

    def amount(self, *types: str) -> Phrase | None:
        """Take the only amount of some terminals, alone or with a thing that is not read for itself."""
        found = [
            p
            for p in self.clause.phrases
            if p.amount is not None and p.amount.type in types and p.start not in self.used
        ]
        if len(found) != 1:
            return None
        self.used.add(found[0].start)
        return found[0]

    def left(self) -> tuple[list[Phrase], list[Phrase]]:
        """Return what found no place though it tells something, and what tells nothing."""
        left: list[Phrase] = []
        unread: list[Phrase] = []
        for phrase in self.clause.phrases:
            if phrase.start in self.used or (phrase.sort == "single" and phrase.type in _SIDE):
                continue
            if phrase.type in DEFERRED and phrase.amount is None:
                continue
            (unread if phrase.sort == "spare" or phrase.type in ("WORD", "MANNER") else left).append(phrase)
        return left, unread


def read(clause: Clause) -> Made | None:
    """Return what a clause makes and what it leaves unread, or None where it makes nothing."""
    for reader in _READERS:
        making = _Making(clause=clause)
        entry = reader(making)
        if entry is None:
            continue
        left, unread = making.left()
        if not left:
            return [timed(entry, clause)], unread
    return None


def _name(made: _Making) -> str | None:
    names = [p for p in made.clause.phrases if p.type == "NEWNAME"]
    if len(names) != 1 or names[0].amount is not None:
        return None
    made.used.add(names[0].start)
    return names[0].thing.value if names[0].thing else None


def _only(phrases: Sequence[Phrase]) -> Token | None:
    """Return the thing of phrases that all name the same."""
    things = {(p.thing.value, p.thing.names) for p in phrases if p.thing}
    return phrases[0].thing if len(things) == 1 else None


# ---------------------------------------------------------------- trials

_MARKS = frozenset({"mark", "dip", "made", "fall", "put", "declare", "give"})


def _mark(made: _Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    drop = next(
        (p for p in clause.phrases if p.qty and p.qty.text in ("1 drop", "1 drops") and p.thing is None), None
    )
    trial_said = any(p.type == "DECLARE" and p.thing and p.thing.value == "trial" for p in clause.phrases)
    methods = {p.thing.value for p in made.take("METHOD") if p.thing}
    if drop is not None and (clause.has("DILUTION", "SUPPORT") or "fall" in verbs):
        methods.add("drop")
        made.used.add(drop.start)
    if "dip" in verbs:
        methods.add("dip")
    thin = next((p for p in clause.phrases if p.type == "DILUTION"), None)
    if (
        thin is not None
        and not methods
        and re.search(r"\bdrops?\b", clause.said[thin.start : thin.end], re.IGNORECASE)
    ):
        methods.add("drop")  # "one drop in eight"
    if _declares(clause, "support") or verbs - _MARKS or not (methods or "mark" in verbs or trial_said):
        return None
    sloped = {p.thing.value for p in clause.phrases if p.type == "WHAT" and p.thing} == {"angle"}
    if (
        (clause.has("WHAT") and not sloped)
        or clause.has("SCALE", "LOT", "LIQUID", "MATERIAL", "NUMBER", "MASS", "TIME")
        or (methods == {"drop"} and not clause.has("DILUTION", "SUPPORT", "NEWNAME"))
    ):
        return None
    if "line" in methods and "pen" in methods:
        methods.discard("pen")
    if "dip" in methods and "drop" in methods:
        return None
    made.take("INSTRUMENT") if methods == {"dip"} else None
    made.take("AGAIN")
    taken = made.take("TRIAL")
    name = _name(made)
    if taken and clause.has("LENGTH"):
        return None
    if taken and name is None:
        raise ask(
            "trial",
            f"There is a trial {taken[0].thing.value if taken[0].thing else ''} already: what shall this one be called?",
            mend="Give it a new name",
        )
    if taken:
        return None
    if not methods:
        raise ask(
            "method",
            "How was it made: dipped, a drop, strokes of the pen, a line or the pangram?",
            "dip",
            "drop",
            "pen",
            "line",
            "pangram",
            mend="Say how it was made",
        )
    if len(methods) != 1:
        return None
    (method,) = methods
    vessel = vessel_of(_vessel(made), clause)
    out: Entry = {
        "kind": "mark",
        "vessel": vessel,
        "trial": name or clause.scene.next_trial(vessel),
        "support": _support(made),
        "method": method,
    }
    pen = _pen_of(made)
    if pen is not None:
        out["pen"] = pen
    thinned = made.amount("DILUTION")
    if thinned is not None and thinned.qty:
        out["thinned"] = thinned.qty.text
    warm = made.amount("TEMP")
    if warm is not None and warm.qty and sloped and warm.qty.unit == "degC":
        made.take("WHAT")
        out["angle"] = warm.qty.bare("deg")
    elif warm is not None and warm.qty:
        out["temperature"] = warm.qty.text
    angle = made.amount("ANGLE")
    if angle is not None and angle.qty:
        out["angle"] = angle.qty.text
    return out


def _vessel(made: _Making) -> Token | None:
    found = made.take("VESSEL")
    deferred = [p for p in made.clause.phrases if p.type in DEFERRED]
    other = next((p.thing for p in deferred if p.thing and p.thing.value == "?other"), None)
    if not found:
        return other
    token = _only(found)
    if token is None:
        raise ask("vessel", "Which vessel?", mend="Name one vessel")
    return token


def _support(made: _Making) -> str:
    found = made.take("SUPPORT")
    kinds = made.take("SKIN")
    supports = made.clause.scene.things.supports
    if found:
        token = _only(found)
        narrow = [p.thing for p in found if p.thing and p.thing.value]
        token = token or (narrow[0] if len({t.value for t in narrow}) == 1 else None)
        if token is None:
            raise ask("support", "On which skin?", *supports, mend="Name one support")
        return settle(token, "support")
    if kinds:
        raise ask(
            "support",
            "On which skin? None of that kind is here.",
            *supports,
            mend="Name the support, or declare it first",
        )
    if len(supports) == 1:
        return next(iter(supports))
    raise ask("support", "On what was it written?", *supports, mend="Name the support")


def _pen_of(made: _Making) -> str | None:
    found = made.take("PEN")
    cuts = made.take("CUT")
    if found:
        token = _only(found)
        if token is None:
            raise ask("pen", "With which pen?", *made.clause.scene.things.pens, mend="Name one pen")
        return settle(token, "pen")
    if cuts:
        raise ask(
            "pen",
            "With which pen? None of that cut is here.",
            *made.clause.scene.things.pens,
            mend="Name the pen, or declare it first",
        )
    return None


# ---------------------------------------------------------------- vessels, pens, skins

_HAVE = frozenset(
    {"gather", "get", "run", "have", "mark", "hold", "give", "cut", "fill", "made", "put", "declare"}
)


def _declares(clause: Clause, sort: str) -> bool:
    return any(p.type == "DECLARE" and p.thing and p.thing.value == sort for p in clause.phrases)


def _new_vessel(made: _Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    holds = clause.has("CAPACITY") or bool(verbs & {"hold", "give"})
    if not (
        _declares(clause, "vessel")
        or (holds and clause.has("VOLUME"))
        or (clause.has("CALL") and clause.has("VOLUME") and clause.has("NEWNAME") and clause.has("VESSEL"))
        or _only_new(clause)
    ) or (verbs - _HAVE - {"add"}):
        return None
    if clause.has(
        "LOT",
        "LIQUID",
        "MATERIAL",
        "MASS",
        "TRIAL",
        "SHARE",
        "LIQUOR",
        "TIME",
        "PEN",
        "CUT",
        "SKIN",
        "SUPPORT",
    ):
        return None
    name = _name(made)
    if name is None:
        found = made.take("VESSEL")
        token = _only(found) if found else None
        if token is None:
            raise ask("name", "What shall the vessel be called?", mend="Give it a name")
        if token.tense != "new":
            return None
        name = settle(token, "name")
    else:
        made.take("VESSEL")
    made.take("AGAIN")
    out: Entry = {"kind": "vessel", "name": name}
    size = made.amount("VOLUME")
    if size is not None and size.qty:
        out["capacity"] = size.qty.text
    deep = made.amount("LENGTH")
    if deep is not None and deep.qty:
        made.take("WHAT")
        out["depth"] = deep.qty.text
    return out


def _only_new(clause: Clause) -> bool:
    """Return whether nothing but a vessel that is not here yet is told: "bought a new crock", "a crock of 3 litres"."""
    vessels = clause.all("VESSEL")
    verbs = {verb for verb, _ in clause.verbs}
    told = [p for p in clause.phrases if p.sort == "phrase" and p not in vessels]
    fresh = (
        len(vessels) == 1
        and vessels[0].thing is not None
        and vessels[0].thing.tense == "new"
        and vessels[0].prep == ""
    )
    if not verbs and not clause.has("VOLUME"):
        return False
    return (
        fresh
        and verbs <= {"gather", "get", "have"}
        and all(p.type in ("VOLUME", "LENGTH", "NEWNAME") for p in told)
    )


def _new_pen(made: _Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    if not clause.has("CUT", "PEN") or clause.has(
        "METHOD", "TRIAL", "VESSEL", "SCALE", "LIQUOR", "SUPPORT", "LOT"
    ):
        return None
    if not (
        verbs & {"cut", "made"}
        or _declares(clause, "pen")
        or (
            clause.has("CALL", "CUT")
            and clause.has("LENGTH")
            and (clause.has("CALL") or bool(verbs & {"get", "gather", "have"}))
        )
    ) or (verbs - _HAVE):
        return None
    found = made.take("CUT", "PEN")
    cuts = {_cut(p.thing, clause) for p in found if p.thing}
    if len(cuts) != 1:
        return None
    (cut,) = cuts
    made.take("AGAIN")
    name = _name(made)
    wide = made.amount("LENGTH")
    if wide is None or wide.qty is None:
        raise ask("width", "How wide is it cut?", mend="Give the width of its edge, for example 2 mm")
    made.take("WHAT")
    if name is None:
        name = (
            f"{cut}-{wide.qty.figure}{wide.qty.unit}" if wide.qty.unit == "mm" and wide.qty.figure else None
        )
    if name is None:
        raise ask("name", "What shall the pen be called?", mend="Give it a name")
    return {"kind": "pen", "name": name, "cut": cut, "width": wide.qty.text}


def _cut(token: Token, clause: Clause) -> str:
    if token.type == "CUT":
        return token.value
    thing = clause.scene.things.pens.get(token.value or (token.names[0] if token.names else ""))
    return thing.material or "" if thing else ""


def _new_support(made: _Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    if clause.has(
        "METHOD", "TRIAL", "VESSEL", "LIQUOR", "LOT", "MASS", "VOLUME", "TIME", "LENGTH", "SHARE", "PEN"
    ) or (verbs - _HAVE):
        return None
    if not (
        clause.has("NEWNAME")
        and (clause.has("CALL", "SKIN", "AGAIN") or _declares(clause, "support") or _of_a_stem(clause))
    ) and not _declares(clause, "support"):
        return None
    found = made.take("SKIN", "SUPPORT")
    made.take("AGAIN")
    made.used |= {
        p.start for p in clause.phrases if p.bare and p.amount is not None and p.amount.type == "STRANGE"
    }
    kinds = {_kind_of(p.thing, clause) for p in found if p.thing}
    kinds.discard("")
    if len(kinds) > 1 or (not found and not _declares(clause, "support")):
        return None
    if not kinds:
        raise ask(
            "material", "What is it: goat, calf or sheep parchment, or rag paper?", mend="Say what it is"
        )
    name = _name(made)
    if name is None:
        raise ask("name", "What shall it be called?", mend="Give it a name")
    out: Entry = {"kind": "support", "name": name, "material": kinds.pop().replace("-", " ")}
    sides = [
        p.thing.value
        for p in clause.phrases
        if p.type == "SCALE" and p.thing and p.thing.value.startswith("side:")
    ]
    if len(set(sides)) == 1:
        out["side"] = sides[0].partition(":")[2]
        made.take("SCALE", "WHAT")
    return out


def _of_a_stem(clause: Clause) -> bool:
    """Return whether a new name says of itself what it is: "goat-3: goat parchment"."""
    stems = {p.thing.value.partition("-")[0] for p in clause.phrases if p.type == "NEWNAME" and p.thing}
    kinds = {
        _kind_of(p.thing, clause).partition("-")[0]
        for p in clause.phrases
        if p.type in ("SUPPORT", "SKIN") and p.thing
    }
    return bool(stems & kinds)


def _kind_of(token: Token, clause: Clause) -> str:
    if token.type == "SKIN":
        return token.value
    kinds = {
        clause.scene.things.supports[name].material or ""
        for name in token.names
        if name in clause.scene.things.supports
    }
    return kinds.pop() if len(kinds) == 1 else ""


def _bring(made: _Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    if not (clause.has("LIQUOR") and clause.has("MATERIAL", "LOT")) or (
        verbs - {"bring", "gather", "get", "give", "put", "read", "rest"}
    ):
        return None
    stands = not verbs and clause.has("VESSEL", "NEWNAME") and clause.has("VOLUME")
    drawn = any(p.prep == "from" and p.sort == "phrase" for p in clause.phrases)
    if (
        not (verbs & {"bring", "gather", "get", "give"} or stands)
        or drawn
        or clause.has("LIQUID", "MASS", "TIME", "SCALE", "WHAT", "TRIAL")
    ):
        return None
    found = made.take("MATERIAL", "LOT")
    if len(found) != 1 or found[0].thing is None:
        return None
    if found[0].amount is not None and found[0].amount.type not in ("STRANGE", "VOLUME"):
        return None
    material = settle(found[0].thing, "material")
    thing = clause.scene.things.lots.get(material)
    material = thing.material or material if thing else material
    name = _name(made)
    vessels = made.take("VESSEL")
    strange = [p for p in clause.phrases if p.amount is not None and p.amount.type == "STRANGE"]
    made.used |= {p.start for p in strange}
    much = (
        found[0]
        if found[0].amount is not None and found[0].amount.type == "VOLUME"
        else made.amount("VOLUME", "MASS")
    )
    if much is None or much.qty is None:
        raise ask("amount", "How much of it is there?", mend="Give a volume")
    named = [p.thing for p in vessels if p.thing and p.thing.value]
    if name is None and len({t.value for t in named}) != 1:
        raise ask("vessel", "Which vessel is it in?", *clause.scene.things.vessels, mend="Name the vessel")
    return {
        "kind": "bring",
        "vessel": name or named[0].value,
        "material": material.replace("-", " "),
        "amount": much.qty.text,
    }


def _mark_again(made: _Making) -> Entry | None:
    """Read "same again" where a trial was the last thing made: one more like it."""
    clause = made.clause
    last = clause.scene.last()
    again = clause.single("AGAIN")
    if (
        last is None
        or last.kind != "mark"
        or again is None
        or again.value not in ("same", "again", "another")
    ):
        return None
    if clause.verbs or clause.has(
        "amount", "LOT", "LIQUID", "MATERIAL", "WHAT", "SCALE", "METHOD", "TRIAL", "CUT", "PEN"
    ):
        return None
    made.take("AGAIN")
    raw = last.raw
    kept = ("vessel", "support", "method", "pen", "thinned", "angle")
    out = {"kind": "mark"} | {key: raw[key] for key in kept if key in raw}
    vessel = _vessel(made)
    if vessel is not None:
        out["vessel"] = vessel_of(vessel, clause)
    return out | {"trial": clause.scene.next_trial(str(out["vessel"]))}


_READERS: Sequence[Callable[[_Making], Entry | None]] = (
    _mark_again,
    _mark,
    _new_vessel,
    _new_pen,
    _new_support,
    _bring,
)
