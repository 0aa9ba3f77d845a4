"""Clauses that make or declare a thing: a trial, a vessel, a pen, a skin, a liquor that was brought."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from inkhorn.sentences.answer import ask
from inkhorn.sentences.drafting import Making, declares, name_of, only_of
from inkhorn.sentences.frames import Clause
from inkhorn.sentences.marks import mark, mark_again
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.settling import settle
from inkhorn.sentences.times import timed
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]
Made = tuple[list[Entry], list[Phrase]]


def read(clause: Clause) -> Made | None:
    """Return what a clause makes and what it leaves unread, or None where it makes nothing."""
    for reader in _READERS:
        making = Making(clause=clause)
        entry = reader(making)
        if entry is None:
            continue
        left, unread = making.left()
        if not left:
            return [timed(entry, clause)], unread
    return None


# ---------------------------------------------------------------- vessels, pens, skins

_HAVE = frozenset(
    {"gather", "get", "run", "have", "mark", "hold", "give", "cut", "fill", "made", "put", "declare"}
)


def _new_vessel(made: Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    holds = clause.has("CAPACITY") or bool(verbs & {"hold"} or ("give", "order") in clause.verbs)
    if not (
        declares(clause, "vessel")
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
    name = name_of(made)
    if name is None:
        found = made.take("VESSEL")
        token = only_of(found) if found else None
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


def _new_pen(made: Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    if not clause.has("CUT", "PEN") or clause.has(
        "METHOD", "TRIAL", "VESSEL", "SCALE", "LIQUOR", "SUPPORT", "LOT"
    ):
        return None
    if not (
        verbs & {"cut", "made"}
        or declares(clause, "pen")
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
    name = name_of(made)
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


def _new_support(made: Making) -> Entry | None:
    clause = made.clause
    verbs = {verb for verb, _ in clause.verbs}
    if clause.has(
        "METHOD", "TRIAL", "VESSEL", "LIQUOR", "LOT", "MASS", "VOLUME", "TIME", "LENGTH", "SHARE", "PEN"
    ) or (verbs - _HAVE):
        return None
    if not (
        clause.has("NEWNAME")
        and (clause.has("CALL", "SKIN", "AGAIN") or declares(clause, "support") or _of_a_stem(clause))
    ) and not declares(clause, "support"):
        return None
    found = made.take("SKIN", "SUPPORT")
    made.take("AGAIN")
    made.used |= {
        p.start for p in clause.phrases if p.bare and p.amount is not None and p.amount.type == "STRANGE"
    }
    kinds = {_kind_of(p.thing, clause) for p in found if p.thing}
    kinds.discard("")
    if len(kinds) > 1 or (not found and not declares(clause, "support")):
        return None
    if not kinds:
        raise ask(
            "material", "What is it: goat, calf or sheep parchment, or rag paper?", mend="Say what it is"
        )
    name = name_of(made)
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


def _bring(made: Making) -> Entry | None:
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
    name = name_of(made)
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


_READERS: Sequence[Callable[[Making], Entry | None]] = (
    mark_again,
    mark,
    _new_vessel,
    _new_pen,
    _new_support,
    _bring,
)
