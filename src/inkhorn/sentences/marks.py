"""Clauses that tell how a trial was made: dipped, dropped, drawn; and one more like the last."""

from __future__ import annotations

import re
from typing import Any

from inkhorn.sentences.answer import ask
from inkhorn.sentences.drafting import Making, declares, name_of, only_of
from inkhorn.sentences.frames import DEFERRED
from inkhorn.sentences.settling import settle, vessel_of
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]


_MARKS = frozenset({"mark", "dip", "made", "fall", "put", "declare", "give"})


def mark(made: Making) -> Entry | None:
    """Return the trial that a clause tells of, or None."""
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
    if declares(clause, "support") or verbs - _MARKS or not (methods or "mark" in verbs or trial_said):
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
    name = name_of(made)
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


def _vessel(made: Making) -> Token | None:
    found = made.take("VESSEL")
    deferred = [p for p in made.clause.phrases if p.type in DEFERRED]
    other = next((p.thing for p in deferred if p.thing and p.thing.value == "?other"), None)
    if not found:
        return other
    token = only_of(found)
    if token is None:
        raise ask("vessel", "Which vessel?", mend="Name one vessel")
    return token


def _support(made: Making) -> str:
    found = made.take("SUPPORT")
    kinds = made.take("SKIN")
    supports = made.clause.scene.things.supports
    if found:
        token = only_of(found)
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


def _pen_of(made: Making) -> str | None:
    found = made.take("PEN")
    cuts = made.take("CUT")
    if found:
        token = only_of(found)
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


def mark_again(made: Making) -> Entry | None:
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
