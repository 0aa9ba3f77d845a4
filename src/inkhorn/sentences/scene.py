"""What a sentence is said in: the things of the bench, which vessels hold something, what was done last."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

import attrs

from inkhorn.daybook.book import Recorded, effective
from inkhorn.daybook.inventory import Inventory, take_inventory
from inkhorn.daybook.wire import decode
from inkhorn.errors import InkhornError
from inkhorn.handbook.load import group
from inkhorn.sentences.answer import ask

_FILLS = ("steep", "weather", "bring", "strain", "add", "pour")
_TOUCHES = (
    *_FILLS,
    "reduce",
    "warm",
    "rest",
    "skim",
    "store",
    "discard",
    "neutralise",
    "crystallise",
    "mark",
)


@attrs.frozen(kw_only=True)
class Scene:
    """The bench as it stands when something is said of it.

    Parameters
    ----------
    book : tuple of Recorded
        The standing entries, in the order of their times.
    things : Inventory
        What they name.
    now : datetime
        When the sentence is said, local time.
    """

    book: tuple[Recorded, ...]
    things: Inventory
    now: datetime

    def holding(self) -> tuple[str, ...]:
        """Return the vessels that hold liquor, in the order in which they were touched, the last one last."""
        full: dict[str, None] = {}
        for line in self.book:
            for name in _emptied(line.kind, line.raw):
                full.pop(name, None)
            for name in _touched(line.kind, line.raw):
                if line.kind in _FILLS or line.kind == "mark" or name in full:
                    full.pop(name, None)
                    full[name] = None
        return tuple(full)

    def vessel(self) -> str:
        """Return the vessel left unsaid; ask where none holds anything."""
        held = self.holding()
        if not held:
            names = tuple(self.things.vessels)
            raise ask("vessel", "Which vessel?", *names, mend="Name the vessel: none holds anything yet")
        return held[-1]

    def other(self) -> str:
        """Return the only other vessel that holds something."""
        held = self.holding()
        if len(held) != 2:
            raise ask("vessel", "Which vessel?", *held, mend="Name the vessel")
        return held[0]

    def last(self, *kinds: str) -> Recorded | None:
        """Return the last entry, of some kinds."""
        fits = [line for line in self.book if not kinds or line.kind in kinds]
        return fits[-1] if fits else None

    def trial(self, methods: Iterable[str] = (), pens: Iterable[str] = ()) -> str | None:
        """Return the trial made last, of those made in one of some ways and with one of some pens where any are told."""
        how, tools = set(methods), set(pens)
        for line in reversed([line for line in self.book if line.kind == "mark"]):
            if (not how or line.raw["method"] in how) and (not tools or line.raw.get("pen") in tools):
                return str(line.raw["trial"])
        return None

    def next_trial(self, vessel: str, taken: Iterable[str] = ()) -> str:
        """Return the next free name of a trial, of the stem in use for a vessel."""
        names = {*self.things.trials, *taken}
        stems = [
            found[1]
            for name, thing in self.things.trials.items()
            if thing.vessel == vessel and (found := re.fullmatch(r"([a-z]+-?)\d+", name))
        ]
        stem, number = (stems[-1] if stems else "t"), 1
        while f"{stem}{number}" in names:
            number += 1
        return f"{stem}{number}"

    def role(self, lot: str) -> str:
        """Return what a lot is for, by the handbook: "tannin", "gum", "sulfide", ... or ""."""
        thing = self.things.lots.get(lot)
        return role_of(thing.material if thing and thing.material else lot)

    def with_entry(self, line: Recorded) -> Scene:
        """Return the scene after one more entry."""
        book = (*self.book, line)
        return attrs.evolve(self, book=book, things=take_inventory(book))


@functools.cache
def role_of(material: str) -> str:
    """Return the role of a handbook material, or ""."""
    return str(group("materials").get(material, {}).get("role", ""))


def set_scene(recorded: Iterable[Recorded], now: datetime) -> Scene:
    """Return the scene of a daybook as it was recorded."""
    book = effective(tuple(recorded))
    return Scene(book=book, things=take_inventory(book), now=now)


def after_entry(scene: Scene, entry: Mapping[str, Any]) -> Scene:
    """Return the scene after an entry that is not recorded yet."""
    if entry["kind"] in ("amend", "void", "remark"):
        return scene
    raw = {"at": scene.now.isoformat(timespec="minutes"), **entry}
    try:
        typed = decode(raw)
    except InkhornError:
        return scene
    number = max((line.number for line in scene.book), default=0) + 1
    return scene.with_entry(Recorded(number=number, entry=typed, raw=raw, recorded_at=scene.now))


def _emptied(kind: str, raw: Mapping[str, Any]) -> tuple[str, ...]:
    if kind == "strain":
        return (str(raw["vessel"]),)
    if kind == "pour" and raw.get("amount") == "all":
        return (str(raw["from"]),)
    if kind == "discard" and raw.get("amount") == "all":
        return (str(raw["vessel"]),)
    return ()


def _touched(kind: str, raw: Mapping[str, Any]) -> tuple[str, ...]:
    if kind == "reading":
        sort, _, name = str(raw.get("of")).partition(":")
        return (name,) if sort == "vessel" else ()
    if kind not in _TOUCHES:
        return ()
    vessel = raw.get("into") or raw.get("vessel")
    return (str(vessel),) if vessel else ()
