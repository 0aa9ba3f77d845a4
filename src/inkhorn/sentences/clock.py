"""Times among the words: "at half past ten", "yesterday evening", "two days ago", "since noon", "till morning"."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.quantities import read_quantity
from inkhorn.sentences import amounts
from inkhorn.sentences.tokens import Raw
from inkhorn.units import fold

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = {day[:3]: day for day in _DAYS} | {"tues": "tuesday", "thur": "thursday", "thurs": "thursday"}
#: Hour of a part of a day that is told without one.
_PARTS = {"morning": 9, "afternoon": 15, "evening": 19, "night": 21, "lunchtime": 12, "teatime": 16}
_LEADS = {
    "at": "at", "on": "at", "since": "since", "from": "since", "until": "until", "till": "until", "til": "until",
    "to": "to", "by": "at", "around": "at", "about": "at",
}  # fmt: skip
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)


@attrs.frozen(kw_only=True)
class Moment:
    """A told time: when, whether something began, ended or happened then, and whether it lies ahead."""

    at: datetime | None
    role: str = "at"
    ahead: bool = False
    day_only: bool = False


@attrs.frozen
class Told:
    """A moment and the place after it."""

    moment: Moment
    end: int


@attrs.frozen
class _Clock:
    hour: int
    minute: int
    sure: bool
    end: int


def moment(words: Sequence[Raw], at: int, now: datetime) -> Told | None:
    """Return the moment that begins at a place, its leading word included, or None."""
    lead, start = "", at
    while start < len(words) and words[start].text in _LEADS and start - at < 3:
        step = _LEADS[words[start].text]
        lead, start = (step if not lead or step in ("since", "until") else lead), start + 1
    if start > at and _is(words, start, "the") and _is(words, start + 1, "morning"):
        start += 1
    ago = _ago(words, at, now) or (_ago(words, start, now) if start > at else None)
    if ago:
        return ago
    hedged = start > at and all(w.text in ("by", "around", "about") for w in words[at:start])
    told = _moment(words, start, now, "" if hedged else lead)
    if told is None:
        return None
    end, when, day_only = told
    if lead == "to" and when is not None:
        return (
            None
            if not _after_since(words, at)
            else Told(Moment(at=when, role="until", day_only=day_only), end)
        )
    return Told(
        Moment(
            at=when,
            role=lead or "at",
            ahead=when is not None and when > now + timedelta(minutes=1),
            day_only=day_only,
        ),
        end,
    )


def _after_since(words: Sequence[Raw], at: int) -> bool:
    """Return whether a "from" stands before, so that a "to" ends a span."""
    return any(
        word.text in ("from", "since") or fold(word.text) in _DAYS for word in words[max(0, at - 8) : at]
    )


def _ago(words: Sequence[Raw], at: int, now: datetime) -> Told | None:
    if at >= len(words):
        return None
    found = amounts.amount(words, at)
    if found is None or found.qty.dimension != "time" or found.end >= len(words):
        return None
    if words[found.end].text not in ("ago", "back", "earlier", "since"):
        return None
    length = timedelta(seconds=read_quantity(found.qty.text, expect=("time",), measures=measures()).value)
    when = now - length
    whole = length >= timedelta(days=1)
    if whole:
        when = when.replace(hour=12, minute=0)
        clock = _clock(words, found.end + 2, strict=False) if _is(words, found.end + 1, "at") else None
        if clock:
            return Told(Moment(at=_settle(when, clock, "", now)), clock.end)
    return Told(Moment(at=when, day_only=whole), found.end + 1)


def _is(words: Sequence[Raw], at: int, *texts: str) -> bool:
    return at < len(words) and words[at].text in texts


def _moment(
    words: Sequence[Raw], at: int, now: datetime, lead: str
) -> tuple[int, datetime | None, bool] | None:
    day = _day(words, at, now)
    if day is not None:
        date, part, end = day
        step = end + 1 if _is(words, end, ",", "at", "around", "about") else end
        step = step + 1 if step > end and _is(words, step, "at", "around", "about") else step
        clock = _clock(words, step, strict=step == end or words[step - 1].text == ",") if date else None
        if clock and date:
            return clock.end, _settle(date, clock, part, now), False
        if date is None:
            return end, None, False
        if part == "now":
            return end, now, False
        return end, date.replace(hour=_PARTS.get(part, 12), minute=0), True
    clock = _clock(words, at, strict=not lead)
    if clock is None:
        return None
    end = clock.end
    after = _day(words, end + 1 if _is(words, end, ",", "on", "in") else end, now)
    if after and after[0] and after[1] != "now":
        return after[2], _settle(after[0], clock, after[1], now), False
    return end, _settle(None, clock, "", now), False


def _day(words: Sequence[Raw], at: int, now: datetime) -> tuple[datetime | None, str, int] | None:
    """Return the date, the part of the day, and the place after them."""
    if at >= len(words):
        return None
    word, today = words[at].text, now.replace(second=0, microsecond=0)
    if word == "this" and _is(words, at + 1, *_PARTS):
        return today, words[at + 1].text, at + 2
    if word == "yesterday":
        part = words[at + 1].text if _is(words, at + 1, *_PARTS) else ""
        return today - timedelta(days=1), part, at + (2 if part else 1)
    if word == "last" and _is(words, at + 1, "night", "evening"):
        return today - timedelta(days=1), words[at + 1].text, at + 2
    if word == "today":
        return (today, "now", at + 1)
    if word == "tonight":
        return today, "now", at + 1
    if word == "just" and _is(words, at + 1, "now"):
        return today, "now", at + 2
    step = at + 1 if word in ("last", "on") and at + 1 < len(words) else at
    name = fold(words[step].text)
    name = _SHORT.get(name, name)
    if name in _DAYS:
        back = (today.weekday() - _DAYS.index(name)) % 7 or 7
        part = words[step + 1].text if _is(words, step + 1, *_PARTS) else ""
        return today - timedelta(days=back), part, step + (2 if part else 1)
    return _date(words, at, today)


def _date(words: Sequence[Raw], at: int, today: datetime) -> tuple[datetime | None, str, int] | None:
    """Read "the 6th", "the 6th of June", "12 September"."""
    step = at + 1 if words[at].text == "the" else at
    if not (step < len(words) and words[step].sort == "number" and words[step].text.isdigit()):
        return None
    number, end = int(words[step].text), step + 1
    ordinal = _is(words, end, "st", "nd", "rd", "th") and words[end].glued
    end = end + 1 if ordinal else end
    month = end + 1 if _is(words, end, "of") else end
    if month < len(words) and words[month].text in _MONTHS:
        return _back(today, number, _MONTHS.index(words[month].text) + 1), "", month + 1
    if ordinal and step > at:
        return _back(today, number, None), "", end
    return None


def _back(today: datetime, day: int, month: int | None) -> datetime | None:
    for back in range(366):
        date = today - timedelta(days=back)
        if date.day == day and month in (None, date.month):
            return date
    return None


def _clock(words: Sequence[Raw], at: int, *, strict: bool) -> _Clock | None:
    """Read a time of day; ``strict`` where a bare figure is none."""
    if at >= len(words):
        return None
    step = at + 1 if words[at].text == "a" else at
    if step >= len(words):
        return None
    word = words[step].text
    if word in ("noon", "midday", "midnight", "lunch"):
        return _Clock(0 if word == "midnight" else 12, 0, True, step + 1)
    if word == "morning" and not strict:
        return _Clock(7, 0, True, step + 1)
    minutes, after = _minutes(words, step)
    if after and _is(words, after, "past", "to"):
        hour = amounts.number(words, after + 1)
        if hour and hour[0] == int(hour[0]) and 1 <= hour[0] <= 12:
            past = words[after].text == "past"
            value = int(hour[0]) if past else int(hour[0]) - 1 or 12
            return _half_of_day(words, hour[2], value, minutes if past else 60 - minutes)
    return _figure_clock(words, step, strict=strict) if step == at else None


def _minutes(words: Sequence[Raw], at: int) -> tuple[int, int]:
    if words[at].text in ("quarter", "half"):
        return {"quarter": 15, "half": 30}[words[at].text], at + 1
    found = amounts.number(words, at)
    if found and found[0] == int(found[0]) and found[0] < 60:
        end = found[2] + 1 if _is(words, found[2], "minutes", "min") else found[2]
        return int(found[0]), end
    return 0, 0


def _figure_clock(words: Sequence[Raw], at: int, *, strict: bool) -> _Clock | None:
    word = words[at]
    if word.sort == "number" and _is(words, at + 1, ":") and words[at + 1].glued and at + 2 < len(words):
        after = words[at + 2].text
        if (
            after.isdigit()
            and len(after) == 2
            and int(after) < 60
            and word.text.isdigit()
            and int(word.text) < 24
        ):
            return _half_of_day(words, at + 3, int(word.text), int(after), sure=int(word.text) > 12)
    if (
        word.sort == "number"
        and len(word.text) == 4
        and word.text.isdigit()
        and not strict
        and not _measured(words, at)
    ):
        hour, minute = int(word.text[:2]), int(word.text[2:])
        if hour < 24 and minute < 60:
            return _Clock(hour, minute, True, at + 1)
    if word.sort == "number" and "." in word.text and not strict and not _measured(words, at):
        hour_text, _, minute_text = word.text.partition(".")
        if len(minute_text) == 2 and int(hour_text) < 24 and int(minute_text) < 60:
            return _half_of_day(words, at + 1, int(hour_text), int(minute_text), sure=int(hour_text) > 12)
    found = amounts.number(words, at)
    if found is None or found[0] != int(found[0]) or not 1 <= found[0] <= 24:
        return None
    hour, end = int(found[0]), found[2]
    if _is(words, end, "o") and _is(words, end + 1, "clock"):
        return _half_of_day(words, end + 2, hour, 0)
    if _is(words, end, "oclock"):
        return _half_of_day(words, end + 1, hour, 0)
    told = _half_of_day(words, end, hour, 0)
    if told.end > end:
        return told
    if strict or _measured(words, at) or _is(words, end, "in", "%", "-", "/", "°"):
        return None
    return told


def _measured(words: Sequence[Raw], at: int) -> bool:
    """Return whether a figure has a unit, so that it is no time of day."""
    found = amounts.amount(words, at)
    return found is not None and found.qty.dimension != "number"


def _half_of_day(words: Sequence[Raw], at: int, hour: int, minute: int, *, sure: bool = False) -> _Clock:
    if _is(words, at, "am", "a.m.", "a.m"):
        return _Clock(hour % 12, minute, True, at + 1)
    if _is(words, at, "pm", "p.m.", "p.m"):
        return _Clock(hour % 12 + 12, minute, True, at + 1)
    if _is(words, at, "in", "at") and (_is(words, at + 1, "the") and _is(words, at + 2, *_PARTS)):
        return _part_of_day(hour, minute, words[at + 2].text, at + 3)
    if _is(words, at, "at") and _is(words, at + 1, "night"):
        return _part_of_day(hour, minute, "night", at + 2)
    return _Clock(hour, minute, sure, at)


def _part_of_day(hour: int, minute: int, part: str, end: int) -> _Clock:
    late = part in ("afternoon", "evening", "night") and hour < 12
    return _Clock(hour + 12 if late else hour, minute, True, end)


def _settle(date: datetime | None, clock: _Clock, part: str, now: datetime) -> datetime:
    """Return the moment meant: of two halves of the day the last one gone by."""
    hour, sure = clock.hour % 24, clock.sure or clock.hour > 12
    if part in ("afternoon", "evening", "night", "teatime"):
        hour, sure = (hour + 12 if hour < 12 else hour), True
    elif part == "morning":
        sure = True
    at = (date or now).replace(hour=hour, minute=clock.minute, second=0, microsecond=0)
    if date is not None and date.date() != now.date():
        return at if sure or hour >= 7 else at + timedelta(hours=12)
    if sure:
        return at if at <= now or date is not None else at - timedelta(days=1)
    later = at + timedelta(hours=12) if hour < 12 else at
    if later <= now:
        return later
    if hour == 12:
        return at - timedelta(hours=12)
    return at if at <= now else later - timedelta(days=1)
