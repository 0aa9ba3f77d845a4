"""The time rule: nothing happens to a vessel while an earlier step on it still runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from inkhorn.daybook import entries as e
from inkhorn.daybook.book import Recorded
from inkhorn.errors import InkhornError, TimeError
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity


def length(entry: e.Entry) -> float:
    """Return how long a step takes, in seconds: the centre of ``for``, or nought.

    A `Reduce` to a volume without ``for`` takes the coarse lower bound of the
    handbook, since the heat it needs is not known here.
    """
    lasts = getattr(entry, "for_", None)
    if isinstance(lasts, Quantity):
        return lasts.value
    return value("measures.bound.reduce_seconds") if isinstance(entry, e.Reduce) else 0


def surely_until(entry: e.Entry) -> datetime:
    """Return the time before which a step has surely not ended.

    A length that was measured counts as it stands; of one told by eye
    ("about 18 h", "overnight") only what is left after the handbook's number
    of standard deviations.
    """
    lasts = getattr(entry, "for_", None)
    seconds = length(entry)
    if isinstance(lasts, Quantity) and lasts.how in ("by eye", "range"):
        seconds = lasts.beyond(-value("measures.bound.deviations"))
    return after(entry.at, seconds)


def after(at: datetime, seconds: float) -> datetime:
    """Return a moment some seconds later, or the end of the calendar."""
    try:
        return at + timedelta(seconds=seconds)
    except OverflowError:
        return datetime.max  # noqa: DTZ901 - the daybook keeps local times


def vessels_of(entry: e.Entry) -> tuple[str, ...]:
    """Return the vessels that an entry does something to or is read from; a declaration is neither."""
    if isinstance(entry, e.Vessel):
        return ()
    if isinstance(entry, e.Reading):
        sort, name = entry.subject
        return (name,) if sort == "vessel" else ()
    names = (getattr(entry, key, None) for key in ("vessel", "from_", "into", "marc_of"))
    return tuple(dict.fromkeys(name for name in names if isinstance(name, str)))


def overlaps(effective: Sequence[Recorded]) -> Iterator[tuple[int, InkhornError]]:
    """Yield (number, fault) for each entry that is dated inside an earlier step on the same vessel."""
    running: dict[str, Recorded] = {}
    for line in effective:
        for vessel in vessels_of(line.entry):
            step = running.get(vessel)
            if step is not None and line.entry.at < surely_until(step.entry):
                yield line.number, _fault(line, step, vessel)
            if step is None or surely_until(line.entry) >= surely_until(step.entry):
                running[vessel] = line


def _fault(line: Recorded, step: Recorded, vessel: str) -> TimeError:
    end = surely_until(step.entry)
    # Rounded up to the minute, so that the time that is named is itself allowed.
    earliest = end if end.second == end.microsecond == 0 else after(end.replace(second=0, microsecond=0), 60)
    return TimeError(
        f"{vessel} is still in its {step.kind} of {step.entry.at:%Y-%m-%dT%H:%M}",
        where=f"{line.kind} at",
        mend=f"The earliest time for the {line.kind} is {earliest.isoformat(timespec='minutes')}; "
        f"or amend the {step.kind} (entry {step.number}) to end before",
    )
