"""Days among the words: "yesterday", "the day before yesterday", "last Tuesday", "the 6th of June", "first thing this morning"."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import attrs

from inkhorn.sentences.tokens import Raw
from inkhorn.units import fold

WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SHORT_DAYS = {day[:3]: day for day in WEEK} | {"tues": "tuesday", "thur": "thursday", "thurs": "thursday"}
#: Hour of a part of a day that is told without one, and the hour from which it may be called so.
PARTS = {
    "morning": (9, 4), "forenoon": (10, 4), "lunchtime": (12, 11), "afternoon": (15, 12), "teatime": (16, 15), "evening": (19, 17),
    "night": (21, 18),
}  # fmt: skip
#: Meals and the light, as hours; before and after them is an hour off.
MEALS = {
    ("breakfast",): 8, ("lunch",): 12, ("dinner",): 19, ("supper",): 19, ("tea",): 16, ("tea", "time"): 16, ("lunch", "time"): 12,
    ("dawn",): 6, ("daybreak",): 6, ("sunrise",): 6, ("first", "light"): 6, ("sunup",): 6, ("the", "crack", "of", "dawn"): 6,
    ("dusk",): 20, ("sunset",): 20, ("nightfall",): 21, ("sundown",): 20, ("bedtime",): 22, ("teatime",): 16, ("lunchtime",): 12,
    ("breakfast", "time"): 8, ("supper", "time"): 19, ("dinner", "time"): 19, ("suppertime",): 19, ("elevenses",): 11,
}  # fmt: skip
_EARLY, _LATE = 7, 20
_SHIFT = {"early": -2, "late": 2, "first": -2}
MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december",
)  # fmt: skip
SHORT_MONTHS = {month[:3]: month for month in MONTHS} | {"sept": "september"}


@attrs.frozen
class Day:
    """A date, the part of it that is told ("" for none, "now" for today), an hour for it, the place after it."""

    date: datetime
    part: str
    hour: int
    end: int


def is_at(words: Sequence[Raw], at: int, *texts: str) -> bool:
    """Return whether one of some words stands at a place."""
    return at < len(words) and words[at].text in texts


def _row(words: Sequence[Raw], at: int, *texts: str) -> bool:
    return [w.text for w in words[at : at + len(texts)]] == list(texts)


def day(words: Sequence[Raw], at: int, now: datetime) -> Day | None:
    """Return the day that is told at a place, or None."""
    if at >= len(words):
        return None
    today = now.replace(second=0, microsecond=0)
    step, shift = at, 0
    if is_at(words, step, "early", "late") or _row(words, step, "first", "thing"):
        shift = _SHIFT[words[step].text]
        step += 2 if words[step].text == "first" else 1
        step += is_at(words, step, "on", "in", "the") and not is_at(words, step + 1, "day")
    if step >= len(words):
        return _part(today, "morning", 7, step) if words[at].text == "first" and shift else None
    found = _near(words, step, today) or _weekday(words, step, today) or _date(words, step, today)
    if found is None and words[at].text == "first" and shift:
        return _part(today, "morning", 7, step)
    if found is None or step == at:
        return found
    if found.part == "now":
        return None
    if not found.part:
        return attrs.evolve(found, hour=_EARLY if shift < 0 else _LATE)
    return attrs.evolve(found, hour=max(0, found.hour + shift))


def _part(date: datetime, part: str, hour: int, end: int) -> Day:
    return Day(date, part, hour or PARTS.get(part, (12, 0))[0], end)


def _near(words: Sequence[Raw], at: int, today: datetime) -> Day | None:
    """Read what is told from today: "this morning", "last night", "earlier today"."""
    if at >= len(words):
        return None
    word = words[at].text
    if word == "this" and is_at(words, at + 1, *PARTS):
        return _part(today, words[at + 1].text, 0, at + 2)
    if word == "this" and (mark := meal(words, at + 1)):
        return Day(today, "", mark[0], mark[1])
    yesterday = today - timedelta(days=1)
    if word == "yesterday":
        part = words[at + 1].text if is_at(words, at + 1, *PARTS) else ""
        return _part(yesterday, part, 0, at + (2 if part else 1))
    if word == "last" and is_at(words, at + 1, "night", "evening"):
        return _part(yesterday, words[at + 1].text, 0, at + 2)
    start = at + 1 if word == "the" else at
    if _row(words, start, "day", "before", "yesterday"):
        return _part(today - timedelta(days=2), "", 0, start + 3)
    if _row(words, start, "night", "before", "last") or _row(words, start, "evening", "before", "last"):
        return _part(today - timedelta(days=2), words[start].text, 0, start + 3)
    if _row(words, at, "during", "the", "night") or _row(words, at, "in", "the", "night"):
        return Day(today, "night", 2, at + 3) if today.hour < PARTS["night"][1] else None
    for row in (("in", "the", "small", "hours"), ("in", "the", "wee", "hours")):
        if _row(words, at, *row):
            return Day(today, "night", 3, at + len(row))
    if word in ("earlier", "before") and is_at(words, at + 1, "today"):
        return Day(today, "", max(0, (min(8, today.hour) + today.hour) // 2), at + 2)
    if word in ("today", "tonight"):
        return Day(today, "now", today.hour, at + 1)
    if word in ("just", "right", "even") and is_at(words, at + 1, "now"):
        return Day(today, "now", today.hour, at + 2)
    if word == "in" and is_at(words, at + 1, "the") and is_at(words, at + 2, *PARTS):
        part = words[at + 2].text
        return _part(today, part, 0, at + 3) if PARTS[part][0] <= today.hour else None
    return None


def meal(words: Sequence[Raw], at: int) -> tuple[int, int] | None:
    """Return the hour of a meal or of the light that is told at a place, and the place after it."""
    for size in range(4, 0, -1):
        key = tuple(w.text for w in words[at : at + size])
        if len(key) == size and key in MEALS:
            return MEALS[key], at + size
    return None


def _weekday(words: Sequence[Raw], at: int, today: datetime) -> Day | None:
    step = at + 1 if words[at].text in ("last", "on", "this") and at + 1 < len(words) else at
    part = ""
    if is_at(words, step, "the") and is_at(words, step + 1, *PARTS) and is_at(words, step + 2, "of"):
        part, step = words[step + 1].text, step + 3
        found = _date(words, step, today)
        if found:
            return _part(found.date, part, 0, found.end)
    if step >= len(words):
        return None
    name = fold(words[step].text)
    led = (
        is_at(words, step - 1, "last", "on", "since", "until", "till", "from", "this", "by")
        if step
        else False
    )
    if led or is_at(words, step + 1, ",", ":", *PARTS):  # "sat" and "sun" by themselves are no days
        name = SHORT_DAYS.get(name, name)
    if name not in WEEK:
        return None
    back = (today.weekday() - WEEK.index(name)) % 7 or 7
    if is_at(words, step + 1, *PARTS):
        part = words[step + 1].text
        return _part(today - timedelta(days=back), part, 0, step + 2)
    return _part(today - timedelta(days=back), part, 0, step + 1)


def _month(words: Sequence[Raw], at: int) -> int | None:
    if at >= len(words):
        return None
    name = SHORT_MONTHS.get(words[at].text, words[at].text)
    return MONTHS.index(name) + 1 if name in MONTHS else None


def _ordinal(words: Sequence[Raw], at: int) -> tuple[int, bool, int] | None:
    """Return a number of a day, whether it has its "th", and the place after it."""
    if not (at < len(words) and words[at].sort == "number" and words[at].text.isdigit()):
        return None
    number, end = int(words[at].text), at + 1
    ordinal = is_at(words, end, "st", "nd", "rd", "th") and words[end].glued
    return (number, ordinal, end + 1 if ordinal else end) if 1 <= number <= 31 else None


def _date(words: Sequence[Raw], at: int, today: datetime) -> Day | None:
    """Read "the 6th", "the 6th of June", "12 September", "September 12th", "2026-09-12"."""
    whole = [w.text for w in words[at : at + 5]]
    if (
        len(whole) == 5
        and whole[1] == whole[3] == "-"
        and all(whole[n].isdigit() for n in (0, 2, 4))
        and len(whole[0]) == 4
    ):
        try:
            date = today.replace(year=int(whole[0]), month=int(whole[2]), day=int(whole[4]))
        except ValueError:
            return None
        return _part(date, "", 0, at + 5)
    return _month_first(words, at, today) or _day_first(words, at, today)


def _month_first(words: Sequence[Raw], at: int, today: datetime) -> Day | None:
    month = _month(words, at)
    number = _ordinal(words, at + 2 if is_at(words, at + 1, "the") else at + 1) if month else None
    date = _back(today, number[0], month) if number else None
    return _part(date, "", 0, number[2]) if number and date else None


def _day_first(words: Sequence[Raw], at: int, today: datetime) -> Day | None:
    step = at + 1 if words[at].text == "the" else at
    number = _ordinal(words, step)
    if number is None:
        return None
    value, ordinal, end = number
    after = end + 1 if is_at(words, end, "of") else end
    month = _month(words, after)
    if not month and not (ordinal and step > at):
        return None
    date = _back(today, value, month)
    return _part(date, "", 0, after + 1 if month else end) if date else None


def _back(today: datetime, number: int, month: int | None) -> datetime | None:
    for back in range(366):
        date = today - timedelta(days=back)
        if date.day == number and month in (None, date.month):
            return date
    return None
