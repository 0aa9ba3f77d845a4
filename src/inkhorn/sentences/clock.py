"""Times among the words: "at half past ten", "yesterday evening", "two days ago", "since noon", "till morning"."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.quantities import read_quantity
from inkhorn.sentences import amounts, numbers
from inkhorn.sentences.days import PARTS, WEEK, Day, day, is_at, meal
from inkhorn.sentences.measuring import match, vocabulary_of_measures
from inkhorn.sentences.tokens import Raw
from inkhorn.units import fold

_LEADS = {
    "at": "at", "on": "at", "since": "since", "from": "since", "between": "since", "until": "until", "till": "until", "til": "until",
    "to": "to", "by": "at", "around": "at", "about": "at", "circa": "at", "before": "near", "after": "near", "past": "near",
}  # fmt: skip
#: Words that make a lead less sharp: "just before noon", "shortly after nine".
_SOFT = frozenset(
    {
        "just",
        "shortly",
        "soon",
        "right",
        "ever",
        "exactly",
        "roughly",
        "only",
        "a",
        "bit",
        "little",
        "some",
        "time",
    }
)
_HALF_DAY = 12


@attrs.frozen(kw_only=True)
class Clock:
    """A time of day, whether its half of the day is sure, and the place after it."""

    hour: int
    minute: int = 0
    sure: bool = False
    end: int = 0


@attrs.frozen(kw_only=True)
class Moment:
    """A told time: when, whether something began, ended or happened then, and whether it lies ahead.

    ``day_only`` where no hour was told; ``clock`` where no day was.
    """

    at: datetime | None
    role: str = "at"
    ahead: bool = False
    day_only: bool = False
    clock: Clock | None = None


@attrs.frozen
class Told:
    """A moment and the place after it."""

    moment: Moment
    end: int


def moment(words: Sequence[Raw], at: int, now: datetime) -> Told | None:
    """Return the moment that begins at a place, its leading word included, or None."""
    lead, start, near = _lead(words, at)
    ago = _ago(words, at, now, "") or (_ago(words, start, now, lead) if start > at else None)
    if ago:
        return ago
    if is_at(words, at, "and", "to", "till", "until", "-") and _after_between(words, at):
        lead, start, near = "until", at + 1, False
    if lead == "until" and _is_a_length(words, at):
        return None  # "until morning" is a length: overnight
    later = until_ahead(words, start, now) if lead == "until" else None
    if later is not None:
        return Told(Moment(at=later[0], role="until", ahead=True), later[1])
    hedged = start > at and all(w.text in ("by", "around", "about") for w in words[at:start])
    found = _moment(words, start, now, "" if hedged else lead, ends=near)
    if found is None and hedged and words[start - 1].text == "by":
        clock = _clock(words, start, strict=False)
        if clock is not None and (clock.end >= len(words) or words[clock.end].sort == "mark"):
            found = clock.end, settle(None, clock, "", now), False, clock  # "by eleven"
    if found is None:
        return None
    end, when, day_only, clock = found
    role = lead or "at"
    if role == "to":
        if not _after_since(words, at):
            return None
        role = "until"
    ahead = when > now + timedelta(minutes=1)
    return Told(Moment(at=when, role=role, ahead=ahead, day_only=day_only, clock=clock), end)


_NEAR = 5


def _is_a_length(words: Sequence[Raw], at: int) -> bool:
    """Return whether "until morning" stands for a length, and none in figures follows it ("till morning, say fifteen hours")."""
    phrase = match(words, at, vocabulary_of_measures()["phrase"], _NEAR)
    if phrase is None:
        return False
    after = (amounts.amount(words, n) for n in range(phrase[1], min(phrase[1] + _NEAR, len(words))))
    return not any(found is not None and found.qty.dimension == "time" for found in after)


def until_ahead(words: Sequence[Raw], at: int, now: datetime) -> tuple[datetime, int] | None:
    """Read the end of what begins now: "tomorrow noon", "this time tomorrow", "eight tomorrow morning"."""
    if is_at(words, at, "this", "the") and is_at(words, at + 1, "time", "same"):
        step = at + 2 if is_at(words, at + 1, "time") else at + 3
        return (now + timedelta(days=1), step + 1) if is_at(words, step, "tomorrow") else None
    clock = _clock(words, at, strict=False) if not is_at(words, at, "tomorrow") else None
    step = clock.end if clock else at
    tonight = _tonight(words, step, clock, now)
    if tonight is not None:
        return tonight
    if not is_at(words, step, "tomorrow"):
        return None
    end = step + 1
    part = words[end].text if is_at(words, end, *PARTS) else ""
    end += bool(part)
    if clock is None:
        mark = end + 1 if is_at(words, end, "at", ",") else end
        clock = _clock(words, mark, strict=mark == end and not is_at(words, end, "noon", "midday"))
        end = clock.end if clock else end
    day_after = (now + timedelta(days=1)).replace(second=0, microsecond=0)
    if clock is None:
        return day_after.replace(
            hour=PARTS[part][0] if part else now.hour, minute=0 if part else now.minute
        ), end
    return settle(day_after, clock, part, now), end


def _tonight(
    words: Sequence[Raw], step: int, clock: Clock | None, now: datetime
) -> tuple[datetime, int] | None:
    """Read the "tonight" of "till ten tonight", "till tonight at ten": always still to come."""
    if not is_at(words, step, "tonight") and not (
        is_at(words, step, "this") and is_at(words, step + 1, "evening")
    ):
        return None
    end = step + (1 if is_at(words, step, "tonight") else 2)
    if clock is None:
        mark = end + 1 if is_at(words, end, "at") else end
        clock = _clock(words, mark, strict=mark == end)
        end = clock.end if clock else end
    if clock is None:
        when = now.replace(hour=PARTS["evening"][0], minute=0, second=0, microsecond=0)
    else:
        when = settle(now, clock, "evening", now)
    return (when, end) if when > now else None


def _lead(words: Sequence[Raw], at: int) -> tuple[str, int, bool]:
    """Return what leads a moment in, the place after it, and whether it is "before" or "after"."""
    lead, start, near = "", at, False
    soft = at
    while soft - at < 3 and is_at(words, soft, *_SOFT):
        soft += 1
    if soft > at and is_at(words, soft, "before", "after", "past", "on", "gone"):
        start = soft
        if is_at(words, start, "gone"):
            return "at", start + 1, True
    while start < len(words) and words[start].text in _LEADS and start - soft < 3:
        step = _LEADS[words[start].text]
        near = near or step == "near"
        step = "at" if step == "near" else step
        lead, start = (step if not lead or step in ("since", "until") else lead), start + 1
    if (
        start > at
        and is_at(words, start, "the")
        and is_at(words, start + 1, "morning")
        and not is_at(words, start + 2, "of")
    ):
        start += 1
    return lead, start, near


def _after_since(words: Sequence[Raw], at: int) -> bool:
    """Return whether a "from" with a time stands before, so that a "to" ends a span."""
    for place in range(at - 1, max(-1, at - 9), -1):
        if words[place].text == "yesterday":
            return True
        if words[place].text in ("from", "since"):
            found = amounts.amount(words, place + 1)
            return found is None or found.qty.dimension in ("number", "time")
        if fold(words[place].text) in WEEK:
            return True
    return False


def _after_between(words: Sequence[Raw], at: int) -> bool:
    return any(word.text == "between" for word in words[max(0, at - 6) : at]) and is_at(words, at, "and")


def _ago(words: Sequence[Raw], at: int, now: datetime, lead: str) -> Told | None:
    if at >= len(words):
        return None
    role = lead if lead in ("since", "until") else "at"
    if is_at(words, at, "a") and is_at(words, at + 1, "moment") and is_at(words, at + 2, "ago"):
        return Told(Moment(at=now, role=role), at + 3)
    found = amounts.amount(words, at)
    if found is None or found.qty.dimension != "time" or found.end >= len(words) or not found.qty.figure:
        return None
    if words[found.end].text not in ("ago", "back", "earlier", "since"):
        return None
    length = timedelta(seconds=read_quantity(found.qty.text, expect=("time",), measures=measures()).value)
    when = now - length
    whole = length >= timedelta(days=1)
    if whole:
        when = when.replace(hour=_HALF_DAY, minute=0)
        clock = _clock(words, found.end + 2, strict=False) if is_at(words, found.end + 1, "at") else None
        if clock:
            return Told(Moment(at=settle(when, clock, "", now), role=role), clock.end)
    return Told(Moment(at=when, role=role, day_only=whole), found.end + 1)


_Found = tuple[int, datetime, bool, Clock | None]


def _moment(words: Sequence[Raw], at: int, now: datetime, lead: str, *, ends: bool) -> _Found | None:
    told = day(words, at, now)
    if told is not None:
        return _on_day(words, told, now)
    mark = meal(words, at) if lead else None
    if mark is not None:
        hour = mark[0] + (1 if is_at(words, at - 1, "after") else -1 if is_at(words, at - 1, "before") else 0)
        when = now.replace(hour=min(hour, 23), minute=0, second=0, microsecond=0)
        end, date = mark[1], when
        after = day(words, end, now)
        if after and after.part != "now":
            return (
                after.end,
                when.replace(year=after.date.year, month=after.date.month, day=after.date.day),
                True,
                None,
            )
        if date > now:
            date = now if date - now < timedelta(hours=2) else date - timedelta(days=1)
        return end, date, True, None
    clock = _clock(words, at, strict=not lead)
    if clock is None or (ends and not clock.sure and not _stops(words, clock.end)):
        return None
    counts = (
        is_at(words, at - 1, "from")
        and not clock.sure
        and clock.end < len(words)
        and words[clock.end].sort == "word"
    )
    if counts and words[clock.end].text not in _AFTER_FROM:
        return None  # "galls from two trees"
    end = clock.end
    after = day(words, end + 1 if is_at(words, end, ",", "on") else end, now)
    if after and (after.part != "now" or is_at(words, after.end - 1, "today")):
        part = "" if after.part == "now" else after.part
        return after.end, settle(after.date, clock, part, now), False, None
    return end, settle(None, clock, "", now), False, clock


#: What may follow the hour from which something lasted.
_AFTER_FROM = frozenset(
    {
        "to",
        "till",
        "until",
        "til",
        "in",
        "on",
        "this",
        "yesterday",
        "today",
        "last",
        "o",
        "oclock",
        "am",
        "pm",
        "and",
        "i",
        "we",
        "it",
        "at",
        "ish",
        "sharp",
        "onward",
        "onwards",
        "or",
        "when",
        "the",
        "with",
        "for",
        "a",
        "have",
        "has",
        "had",
        "they",
        "sumac",
        "galls",
    }
)


def _stops(words: Sequence[Raw], at: int) -> bool:
    """Return whether nothing follows that a bare figure could count."""
    return (
        at >= len(words)
        or words[at].sort == "mark"
        or words[at].text in ("and", "i", "we", "the", "with", "in", "then", "it")
    )


def _on_day(words: Sequence[Raw], told: Day, now: datetime) -> _Found:
    end = told.end
    step = end + 1 if is_at(words, end, ",", "at", "around", "about", "from", "between", "since") else end
    step = step + 1 if step > end and is_at(words, step, "at", "around", "about", "from", "between") else step
    spans = any(is_at(words, n, "from", "between", "since") for n in range(end, step))
    clock = _clock(words, step, strict=step == end or words[step - 1].text == ",") if not spans else None
    if clock:
        part = "" if told.part == "now" else told.part
        return clock.end, settle(told.date, clock, part, now), False, None
    if told.part == "now":
        return end, now, False, None
    when = told.date.replace(hour=told.hour, minute=0)
    begins = PARTS.get(told.part, (0, 24))[1]
    if when > now and when.date() == now.date() and now.hour >= begins:
        when = now  # this afternoon, said at two
    return end, when, True, None


# ---------------------------------------------------------------- the time of day


def _clock(words: Sequence[Raw], at: int, *, strict: bool) -> Clock | None:
    """Read a time of day; ``strict`` where a bare figure is none."""
    if at >= len(words):
        return None
    step = at + 1 if words[at].text == "a" else at
    if step >= len(words):
        return None
    word = words[step].text
    if word == "12" and is_at(words, step + 1, "noon", "midnight"):
        step, word = step + 1, words[step + 1].text
    if word in ("noon", "midday", "midnight", "lunch", "noontime"):
        return Clock(hour=0 if word == "midnight" else 12, sure=True, end=step + 1)
    if word == "morning" and not strict:
        return Clock(hour=7, sure=True, end=step + 1)
    minutes, after = _minutes(words, step)
    span = is_at(words, at - 1, "from") and minutes <= _HALF_DAY and not is_at(words, step, "quarter", "half")
    if after and is_at(words, after, "past", "to", "of", "before", "after") and not span:
        hour = numbers.number(words, after + 1)
        american = words[after].text in ("of", "before", "after") and (strict or words[step].text == "half")
        if hour and hour[0] == int(hour[0]) and 1 <= hour[0] <= _HALF_DAY and not american:
            past = words[after].text in ("past", "after")
            value = int(hour[0]) if past else int(hour[0]) - 1 or _HALF_DAY
            return _half_of_day(words, hour[2], value, minutes if past else 60 - minutes)
    if word == "half" and not strict and step == at:
        hour = numbers.number(words, step + 1)
        if hour and hour[0] == int(hour[0]) and 1 <= hour[0] <= _HALF_DAY and not _measured(words, step + 1):
            return _half_of_day(words, hour[2], int(hour[0]), 30)
    return _figure_clock(words, step, strict=strict) if step == at else None


def _minutes(words: Sequence[Raw], at: int) -> tuple[int, int]:
    if words[at].text in ("quarter", "half"):
        return {"quarter": 15, "half": 30}[words[at].text], at + 1
    found = numbers.number(words, at)
    if found and found[0] == int(found[0]) and found[0] < 60:
        end = found[2] + 1 if is_at(words, found[2], "minutes", "min", "mins") else found[2]
        return int(found[0]), end
    return 0, 0


def _figure_clock(words: Sequence[Raw], at: int, *, strict: bool) -> Clock | None:
    word = words[at]
    digits = word.sort == "number" and word.text.isdigit()
    if digits and is_at(words, at + 1, ":", "h") and words[at + 1].glued and at + 2 < len(words):
        after = words[at + 2].text
        colon = words[at + 1].text == ":" or not strict
        if colon and after.isdigit() and len(after) == 2 and int(after) < 60 and int(word.text) < 24:
            return _half_of_day(words, at + 3, int(word.text), int(after), sure=int(word.text) > _HALF_DAY)
    if digits and len(word.text) == 4 and not strict and not _measured(words, at):
        hour, minute = int(word.text[:2]), int(word.text[2:])
        if hour < 24 and minute < 60:
            return Clock(
                hour=hour, minute=minute, sure=True, end=at + 1 + is_at(words, at + 1, "hrs", "hours", "h")
            )
    half = is_at(words, at + 1, "am", "pm", "a.m.", "p.m.")
    if word.sort == "number" and "." in word.text and (half or not strict) and not _measured(words, at):
        hour_text, _, minute_text = word.text.partition(".")
        if hour_text and len(minute_text) == 2 and int(hour_text) < 24 and int(minute_text) < 60:
            return _half_of_day(
                words, at + 1, int(hour_text), int(minute_text), sure=int(hour_text) > _HALF_DAY
            )
    return _spoken(words, at, strict=strict)


def _spoken(words: Sequence[Raw], at: int, *, strict: bool) -> Clock | None:
    """Read "ten", "ten o'clock", "seven thirty", "tenish"."""
    ish = words[at].text.removesuffix("ish")
    told = is_at(words, at - 1, "around", "about", "at", "by") if at else False
    if ish != words[at].text and (told or not strict):
        named = numbers.number([attrs.evolve(words[at], text=ish)], 0)
        return _half_of_day(words, at + 1, int(named[0]), 0) if named and 1 <= named[0] <= _HALF_DAY else None
    found = numbers.number(words, at)
    if found is None or found[0] != int(found[0]) or not 1 <= found[0] <= 24:
        return None
    hour, end = int(found[0]), found[2]
    if is_at(words, end, "o") and is_at(words, end + 1, "clock"):
        return _half_of_day(words, end + 2, hour, 0)
    if is_at(words, end, "oclock"):
        return _half_of_day(words, end + 1, hour, 0)
    more = numbers.number(words, end) if words[at].sort == "word" and not strict else None
    if more and more[0] == int(more[0]) and 10 <= more[0] < 60 and not _measured(words, end):
        return _half_of_day(words, more[2], hour, int(more[0]))
    if (told or not strict) and is_at(words, end, "ish"):
        return _half_of_day(words, end + 1, hour, 0)
    plain = _half_of_day(words, end, hour, 0)
    if plain.end > end:
        return plain
    if is_at(words, end, "to", "-") and _measured(words, end + 1):
        return None  # "from 4 to 1.5 litres"
    if strict or _measured(words, at) or is_at(words, end, "%", "-", "/", "°"):
        return None
    if words[at].sort == "word" and hour > _HALF_DAY:
        return None  # "at twenty" is as soon degrees as an hour
    if is_at(words, end, "in") and not (is_at(words, end + 1, "the") and is_at(words, end + 2, *PARTS)):
        return None
    return plain


def _measured(words: Sequence[Raw], at: int) -> bool:
    """Return whether a figure has a unit, so that it is no time of day."""
    found = amounts.amount(words, at)
    return found is not None and found.qty.dimension != "number"


def _half_of_day(words: Sequence[Raw], at: int, hour: int, minute: int, *, sure: bool = False) -> Clock:
    for dotted, late in (("a", 0), ("p", 12)):
        if is_at(words, at, f"{dotted}m", f"{dotted}.m.", f"{dotted}.m"):
            return Clock(hour=hour % 12 + late, minute=minute, sure=True, end=at + 1)
    if is_at(words, at, "sharp", "exactly", "precisely"):
        at += 1
    if is_at(words, at, "in", "at") and is_at(words, at + 1, "the") and is_at(words, at + 2, *PARTS):
        return _part_of_day(hour, minute, words[at + 2].text, at + 3)
    if is_at(words, at, "at") and is_at(words, at + 1, "night"):
        return _part_of_day(hour, minute, "night", at + 2)
    return Clock(hour=hour, minute=minute, sure=sure, end=at)


def _part_of_day(hour: int, minute: int, part: str, end: int) -> Clock:
    late = part in ("afternoon", "evening", "night", "teatime") and hour < _HALF_DAY
    return Clock(hour=hour + 12 if late else hour, minute=minute, sure=True, end=end)


def settle(date: datetime | None, clock: Clock, part: str, now: datetime) -> datetime:
    """Return the moment meant: of two halves of the day the last one gone by."""
    hour, sure = clock.hour % 24, clock.sure or clock.hour > _HALF_DAY
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
    if date is not None:  # today: it can be neither yesterday nor to come
        return at
    return at if at <= now else later - timedelta(days=1)
