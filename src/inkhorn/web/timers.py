"""What is going on by itself: a soak, a simmer, a rest, and the waits for a stroke to darken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

import attrs

from inkhorn.daybook import entries as e
from inkhorn.daybook.book import Recorded
from inkhorn.daybook.names import said
from inkhorn.daybook.times import length, vessels_of

_HOUR, _DAY = timedelta(hours=1), timedelta(days=1)
_STAYS = timedelta(hours=12)
"""How long a timer that has run out is still shown."""


@attrs.frozen(kw_only=True)
class Timer:
    """One thing that takes time.

    Parameters
    ----------
    what : str
        What goes on, or is waited for.
    then : str
        What there is to do when it is over.
    begun, until : datetime
        On the clock of this machine.
    do : str
        Address of the form for what comes next, or nothing.
    """

    what: str
    then: str
    begun: datetime
    until: datetime
    do: str = ""

    def left(self, now: datetime) -> str:
        """Return in words how long it still takes."""
        if self.until <= now:
            return "over"
        return span(self.until - now)

    def clock(self, now: datetime) -> str:
        """Return when it is over, with the day where that is another."""
        day = "" if self.until.date() == now.date() else f"{self.until:%A} "
        return f"{day}{self.until:%H:%M}"

    def share(self, now: datetime) -> float:
        """Return how much of it has passed, 0 to 1."""
        whole = (self.until - self.begun).total_seconds()
        return min(max((now - self.begun).total_seconds() / whole, 0), 1) if whole > 0 else 1

    @property
    def epoch(self) -> int:
        """Milliseconds since 1970 at which it is over."""
        return int(self.until.timestamp() * 1000)


def span(time: timedelta) -> str:
    """Return a length of time in two words at most: ``2 h 15 min``."""
    minutes = max(1, round(time.total_seconds() / 60))
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 24:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if hours else f"{days} d"


_SAYS = {
    e.Steep: ("soaks in {}", "Strain it", "strain"),
    e.Weather: ("weathers in {}", "Strain it", "strain"),
    e.Reduce: ("{} simmers", "Look how much is left", "reading&of=vessel:{}&what=volume"),
    e.Rest: ("{} rests", "Go on with it", ""),
    e.Warm: ("{} is kept warm", "Go on with it", ""),
    e.Neutralise: ("iron works in {}", "Try its sourness", "reading&of=vessel:{}&what=ph"),
}


def timers(standing: Sequence[Recorded], now: datetime) -> tuple[Timer, ...]:
    """Return what is going on now or was over a short while ago, the next to end first."""
    found = [*_steps(standing, now), *_waits(standing, now)]
    return tuple(sorted(found, key=lambda timer: timer.until))


def _steps(standing: Sequence[Recorded], now: datetime) -> Iterator[Timer]:
    last: dict[str, Recorded] = {}
    for line in standing:
        if line.entry.at <= now:
            for vessel in vessels_of(line.entry):
                last[vessel] = line
    for vessel, line in last.items():
        entry = line.entry
        if type(entry) not in _SAYS or getattr(entry, "for_", None) is None:
            continue
        until = entry.at + timedelta(seconds=length(entry))
        if until + _STAYS < now:
            continue
        what, then, do = _SAYS[type(entry)]
        lot = getattr(entry, "lot", None)
        text = what.format(said(vessel))
        if isinstance(entry, e.Steep | e.Weather):
            text = f"{said(lot) if lot else 'the marc'} {text}"
        address = f"/?do={do.format(vessel)}#do" if do else ""
        yield Timer(what=text[0].upper() + text[1:], then=then, begun=entry.at, until=until, do=address)


def _waits(standing: Sequence[Recorded], now: datetime) -> Iterator[Timer]:
    looked: dict[str, datetime] = {}
    for line in standing:
        if isinstance(line.entry, e.Reading) and line.entry.subject[0] == "trial" and line.entry.at <= now:
            looked[line.entry.subject[1]] = line.entry.at
    for line in standing:
        entry = line.entry
        if not isinstance(entry, e.Mark) or entry.at > now:
            continue
        for wait, name in ((_HOUR, "hour"), (_DAY, "day")):
            until = entry.at + wait
            seen = looked.get(entry.trial)
            if until + (_STAYS if wait is _DAY else _HOUR) < now or (seen is not None and seen >= until):
                continue
            yield Timer(
                what=f"The {name}'s wait of {entry.trial}",
                then=f"Photograph {entry.trial}",
                begun=entry.at,
                until=until,
                do=f"/?do=photo&trial={entry.trial}#do",
            )
