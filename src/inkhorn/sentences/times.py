"""When an entry began and how long it took, from the moments and lengths of its clause."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Any

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.daybook.schema import KINDS
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.answer import ask
from inkhorn.sentences.clock import Clock
from inkhorn.sentences.clock import settle as settle_clock
from inkhorn.sentences.frames import Clause

Entry = dict[str, Any]
#: Verbs whose past tense tells a time that is over.
_LASTING = frozenset(
    {"steep", "boil", "simmer", "rest", "warm", "hold", "weather", "give", "boil_off", "cool"}
)
_NIGHT = 21
_NOON = 12
_EVENING = 17


def seconds(text: str) -> float:
    """Return a length of time in seconds; 0 if it is none."""
    try:
        return read_quantity(text, expect=("time",), measures=measures()).value
    except QuantityError:
        return 0.0


def timed(entry: Entry, clause: Clause) -> Entry:
    """Return an entry with when it began and how long it took."""
    now = clause.scene.now
    moments = together([m for m in clause.moments() if m.at is not None], now)
    begins = [m for m in moments if m.role in ("at", "since")]
    begin = next(iter(begins), None)
    until = next((m for m in moments if m.role == "until"), None)
    if len({m.at for m in begins}) > 1:
        first, second = (stamp(m.at).replace("T", " ") for m in begins[:2])
        raise ask(
            "at", f"Two times were told: was it {first} or {second}?", mend="Tell the time at which it began"
        )
    if until is not None and begin is not None and until.clock is not None:
        until = attrs.evolve(until, at=_after(begin.at, until.clock))
    if begin is not None and begin.at > now + timedelta(minutes=1):
        raise ask("at", "That lies ahead: say it when it is done.", mend="Say it when it is done")
    at = begin.at if begin else None
    if begin and begin.day_only and begin.role == "at" and at and at > now:
        at = now
    if begin is not None and begin.day_only and ("get", "order") in clause.verbs:
        raise ask(
            "at",
            "Was that done, or is it to be done?",
            mend="Say it as it was done: “the ink got 5 g of gum”",
        )
    lasting = any(t.type == "FILL" and t.value == "since" for t in clause.dropped)
    takes = "for" in KINDS[entry["kind"]].all_keys
    if takes and "for" not in entry and at is not None:
        end = until.at if until else now if begin and (begin.role == "since" or lasting) else None
        if end is not None and end > at:
            entry["for"] = f"{(end - at).total_seconds() / 3600:g} h"
    if takes and "for" not in entry and at is None and until is not None and _tells_its_end(until, clause):
        ends = _still_to_come(until, now, clause.said)
        entry["for"] = f"{(ends - now).total_seconds() / 3600:g} h"
    length = entry.get("for")
    today = begin is not None and begin.clock is None and at == now  # "today", which tells no hour
    if (at is None or today) and isinstance(length, str) and _over(clause):
        at = now - timedelta(seconds=seconds(length))
        if length == "overnight":
            at = (now - timedelta(days=1)).replace(hour=_NIGHT, minute=0)
    if at is not None and at != now:
        entry = {"at": stamp(at), **entry}
    return entry


def _tells_its_end(until: Any, clause: Clause) -> bool:
    """Return whether what begins now has a sure end: "till eight" may be of either half of the day."""
    ordered = not any(tense == "past" for _, tense in clause.verbs)
    return ordered and (until.clock is None or until.clock.sure)


def _still_to_come(until: Any, now: datetime, said: str) -> datetime:
    """Return when what begins now is to end: the next such hour, or the next such day of the week."""
    step = timedelta(days=7 if re.search(_DAY, said, re.IGNORECASE) else 1)
    ends: datetime = until.at
    while ends <= now:
        ends += step
    return ends


_BEGINS = r"(?:start|began|begun|set going|got going|get going)"
_DAY = r"\b(?:un)?till? (?:next |on )?(?:mon|tues|wednes|thurs|fri|satur|sun)day"


def together(moments: list[Any], now: datetime) -> list[Any]:
    """Return the moments of a clause: a day and an hour that stand apart are one ("yesterday … at nine")."""
    day = next((m for m in moments if m.day_only and m.role == "at" and m.clock is None), None)
    if day is None or not any(m.clock is not None for m in moments):
        return moments
    part = {True: ""}.get(day.at.hour == _NOON, "morning" if day.at.hour < _NOON else "evening")
    return [
        attrs.evolve(
            m, at=settle_clock(day.at, m.clock, part, now), clock=None if m.role == "at" else m.clock
        )
        if m.clock is not None
        else m
        for m in moments
        if m is not day
    ]


def _after(begin: datetime, clock: Clock) -> datetime:
    """Return when a time of day first comes after something began."""
    at = begin.replace(hour=clock.hour % 24, minute=clock.minute)
    while at <= begin:
        at += timedelta(hours=24 if clock.sure or clock.hour > _NOON else _NOON)
    return at


def stamp(at: datetime) -> str:
    """Return a time as an entry has it."""
    return at.isoformat(timespec="minutes")


#: Words that say that what lasted is over, and that it has lasted so long already.
_ENDED = re.compile(
    r"\b(?:it['’]?s|it is|that['’]?s|now|is) (?:off|done|over|finished)\b|\boff (?:the (?:fire|stove|heat|hob|boil)|now)\b|\b(?:took|taken) (?:it|the \w+) off\b",
    re.IGNORECASE,
)
_SO_LONG_NOW = re.compile(r"\b(?:hours?|hrs?|minutes?|mins?|days?|weeks?) now\b", re.IGNORECASE)


def _over(clause: Clause) -> bool:
    """Return whether a length that is told has just ended."""
    if clause.has("AHEAD", "P:until"):
        return False
    if clause.scene.now.hour >= _EVENING and re.search(
        r"\b(?:un)?till? (?:the )?morning\b", clause.said, re.IGNORECASE
    ):
        return False  # "left till morning", said at night
    heads = [(verb, tense) for verb, tense in clause.verbs]
    if heads and _ENDED.search(clause.said):
        return True  # "let it simmer two hours, it's off now"
    doing = any(tense == "doing" for _, tense in heads) or (not heads and clause.has("HEAT"))
    if doing and _SO_LONG_NOW.search(clause.said):
        return True  # "simmering for two hours now"
    been = any(clause.said[t.start : t.end].casefold() == "been" for t in clause.dropped)
    had = ("have", "past") in heads or any(t.type == "FILL" and t.value == "had" for t in clause.dropped)
    if been and (not heads or any(tense == "doing" and verb in _LASTING for verb, tense in heads)):
        return True
    if had and not any(tense == "order" for _, tense in heads):
        return True  # "had the pot on the stove an hour, simmering"
    told = [clause.said[p.start : p.end] for p in clause.phrases if p.type == "VERB"]
    if told and re.match(_BEGINS, told[0], re.IGNORECASE):
        return False  # "started a batch, for a day" tells that it has begun
    lasting = [tense for verb, tense in heads if verb in _LASTING]
    if not lasting:
        return False
    return "past" in lasting
