"""The workshop as it stands: the book, what there is, and what is in hand, taken once for each state of it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import attrs

from inkhorn.daybook.book import Recorded, effective
from inkhorn.daybook.entries import Steep, Strain, Weather
from inkhorn.daybook.inventory import Inventory, mentions
from inkhorn.report import lines
from inkhorn.web import cups
from inkhorn.web.fields import Bench

if TYPE_CHECKING:
    from inkhorn.workshop import Workshop


@attrs.frozen(kw_only=True)
class Standing:
    """One state of a workshop.

    Parameters
    ----------
    recorded : tuple of Recorded
        Every line, in the order of recording.
    standing : tuple of Recorded
        The lines that stand, amended and in the order of time.
    told : tuple of mapping
        Every line as JSON with its number.
    things : Inventory
    bench : Bench
        The names on the bench and what was in hand last.
    """

    recorded: tuple[Recorded, ...]
    standing: tuple[Recorded, ...]
    told: tuple[Mapping[str, Any], ...]
    things: Inventory
    bench: Bench

    @property
    def after(self) -> int:
        """Number of the last entry, 0 where there is none."""
        return self.recorded[-1].number if self.recorded else 0

    def of(self, sort: str, name: str) -> tuple[Recorded, ...]:
        """Return the lines that stand and name a thing, in the order of time."""
        return tuple(
            line for line in self.standing if any((s, n) == (sort, name) for s, n, _ in mentions(line.entry))
        )


class Reader:
    """Reads one workshop for every page; the book is append-only, so each state is taken once."""

    def __init__(self, door: Callable[[], Workshop]) -> None:
        self._door = door
        self._lock = threading.Lock()
        self._own: Workshop | None = None
        self._last: Standing | None = None

    def now(self) -> Standing:
        """Return the workshop as it stands now."""
        with self._lock:
            if self._own is None:
                self._own = self._door()
            recorded = tuple(self._own.daybook)
            if self._last is None or len(self._last.recorded) != len(recorded):
                things, standing = self._own.inventory(), effective(recorded)
                self._last = Standing(
                    recorded=recorded,
                    standing=standing,
                    told=tuple(lines.told(line) for line in recorded),
                    things=things,
                    bench=bench_of(things, standing, cups.drawn(standing, self._own.sent_with)),
                )
            return self._last

    def sent_with(self, number: int) -> tuple[int, ...]:
        """Return the entries that were recorded in one go with one; () where it was alone."""
        with self._lock:
            if self._own is None:
                self._own = self._door()
            return self._own.sent_with(number)

    def close(self) -> None:
        """Let go of the file."""
        with self._lock:
            if self._own is not None:
                self._own.close()
                self._own = None


def bench_of(things: Inventory, recorded: Sequence[Recorded], drawn: Mapping[str, str]) -> Bench:
    """Return the names on the bench, which of them were in hand last, and the cups that were ``drawn``."""
    trial = next(reversed(list(things.trials.values())), None)
    return Bench(
        vessels=tuple(things.vessels),
        lots=tuple(things.lots),
        supports=tuple(things.supports),
        pens=tuple(things.pens),
        trials=tuple(things.trials),
        exemplars=tuple(things.exemplars),
        cups=drawn,
        marked=frozenset(one.vessel for one in things.trials.values() if one.vessel),
        vessel=last_vessel(things, recorded),
        soaking=_soaking(recorded),
        support=(trial and trial.support) or "",
        pen=(trial and trial.pen) or "",
        method=(trial and trial.method) or "",
    )


def _soaking(recorded: Sequence[Recorded]) -> str:
    """Return the vessel that something was put to soak in last and that was not strained since, or nothing."""
    out: list[str] = []
    for line in sorted(recorded, key=lambda line: (line.entry.at, line.number)):
        if isinstance(line.entry, Steep | Weather):
            out.append(line.entry.into)
        elif isinstance(line.entry, Strain):
            out = [vessel for vessel in out if vessel != line.entry.vessel]
    return out[-1] if out else ""


def last_vessel(things: Inventory, recorded: Sequence[Recorded]) -> str:
    """Return the vessel that was worked at last, or nothing where there is none."""
    for line in sorted(recorded, key=lambda line: (line.entry.at, line.number), reverse=True):
        named = [
            name for sort, name, _ in mentions(line.entry) if sort == "vessel" and name in things.vessels
        ]
        if named and line.kind != "vessel":
            return named[-1]
    return next(reversed(list(things.vessels)), "")
