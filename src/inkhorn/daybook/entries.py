"""What can stand in a daybook: one frozen class a kind of entry.

The classes know nothing of JSON (that is `inkhorn.daybook.wire`); names of keys
that are Python words carry an underscore (``for_``, ``from_``, ``with_``).
Amounts are `Quantity`; times of day are local and without a zone.
"""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

import attrs

from inkhorn.quantities import Quantity

#: Version of the JSON shape that `inkhorn.daybook.wire` writes; older ones are lifted on reading.
SCHEMA = 1


@attrs.frozen(kw_only=True)
class Entry:
    """What every entry has: when it began, who did it, a remark beside it, a picture."""

    kind: ClassVar[str] = ""
    at: datetime
    who: str | None = None
    note: str | None = None
    picture: str | None = None


@attrs.frozen(kw_only=True)
class Gather(Entry):
    """A raw material was gathered or bought; it makes or adds to a lot."""

    kind: ClassVar[str] = "gather"
    lot: str
    material: str
    amount: Quantity
    source: str | None = None
    part: str | None = None
    age: str | None = None
    leave: str | None = None


@attrs.frozen(kw_only=True)
class Prepare(Entry):
    """A lot was dried, crushed, ground or washed; ``to`` is what it then weighs, or the size of its pieces."""

    kind: ClassVar[str] = "prepare"
    lot: str
    how: str
    to: Quantity | None = None


@attrs.frozen(kw_only=True)
class Bring(Entry):
    """A liquor of unknown strength that was already to hand."""

    kind: ClassVar[str] = "bring"
    vessel: str
    material: str
    amount: Quantity


@attrs.frozen(kw_only=True)
class Vessel(Entry):
    """A vessel is declared; ``depth`` is its inner depth, for amounts told in fingers."""

    kind: ClassVar[str] = "vessel"
    name: str
    capacity: Quantity | None = None
    made_of: str | None = None
    depth: Quantity | None = None


@attrs.frozen(kw_only=True)
class Support(Entry):
    """Something to write on is declared."""

    kind: ClassVar[str] = "support"
    name: str
    material: str
    side: str | None = None
    preparation: str | None = None


@attrs.frozen(kw_only=True)
class Pen(Entry):
    """Something to write with is declared: how it is cut (a pen of the handbook) and how wide."""

    kind: ClassVar[str] = "pen"
    name: str
    cut: str
    width: Quantity


@attrs.frozen(kw_only=True)
class Steep(Entry):
    """A lot, or the marc left in a vessel, stands in a liquid."""

    kind: ClassVar[str] = "steep"
    liquid: str
    liquid_amount: Quantity
    into: str
    for_: Quantity
    lot: str | None = None
    marc_of: str | None = None
    amount: Quantity | None = None
    temperature: Quantity | None = None
    pieces: str | Quantity | None = None


@attrs.frozen(kw_only=True)
class Strain(Entry):
    """The liquor is parted from its marc; into the same vessel where the marc is only set aside."""

    kind: ClassVar[str] = "strain"
    vessel: str
    into: str


@attrs.frozen(kw_only=True)
class Reduce(Entry):
    """The liquor is boiled down: to a volume (or a share of it), or for a time at a heat.

    Boiling to a volume takes the time its heat needs, which is not known when
    the entry is made. Until an estimate says more, the daybook holds it to
    take no time (handbook row ``measures.bound.reduce_seconds``, a coarse
    lower bound) unless ``for`` is given.
    """

    kind: ClassVar[str] = "reduce"
    vessel: str
    to: Quantity | None = None
    for_: Quantity | None = None
    heat: Quantity | None = None


@attrs.frozen(kw_only=True)
class Weather(Entry):
    """An iron sulfide stands wet in air."""

    kind: ClassVar[str] = "weather"
    lot: str
    amount: Quantity
    liquid: str
    liquid_amount: Quantity
    into: str
    for_: Quantity
    temperature: Quantity | None = None


@attrs.frozen(kw_only=True)
class Neutralise(Entry):
    """Metallic iron or chalk is put to an acid liquor."""

    kind: ClassVar[str] = "neutralise"
    vessel: str
    lot: str
    amount: Quantity
    for_: Quantity | None = None


@attrs.frozen(kw_only=True)
class Crystallise(Entry):
    """Crystals are taken from a liquor; they make a new lot."""

    kind: ClassVar[str] = "crystallise"
    vessel: str
    lot: str
    amount: Quantity | None = None


@attrs.frozen(kw_only=True)
class Add(Entry):
    """Some of a lot or of a liquid goes into a vessel, by amount or up to a level."""

    kind: ClassVar[str] = "add"
    into: str
    lot: str | None = None
    liquid: str | None = None
    amount: Quantity | None = None
    up_to: Quantity | None = None


@attrs.frozen(kw_only=True)
class Pour(Entry):
    """Liquor goes from one vessel to another."""

    kind: ClassVar[str] = "pour"
    from_: str
    into: str
    amount: Quantity


@attrs.frozen(kw_only=True)
class Warm(Entry):
    """A vessel is brought to a temperature, and kept there where ``for`` is given."""

    kind: ClassVar[str] = "warm"
    vessel: str
    to: Quantity
    for_: Quantity | None = None


@attrs.frozen(kw_only=True)
class Rest(Entry):
    """A vessel stands."""

    kind: ClassVar[str] = "rest"
    vessel: str
    for_: Quantity
    covered: bool | None = None


@attrs.frozen(kw_only=True)
class Skim(Entry):
    """What swims on top is taken off."""

    kind: ClassVar[str] = "skim"
    vessel: str


@attrs.frozen(kw_only=True)
class Store(Entry):
    """A vessel is put away, and how."""

    kind: ClassVar[str] = "store"
    vessel: str
    how: str


@attrs.frozen(kw_only=True)
class Discard(Entry):
    """Some of what a vessel holds is thrown out."""

    kind: ClassVar[str] = "discard"
    vessel: str
    amount: Quantity


@attrs.frozen(kw_only=True)
class Mark(Entry):
    """A mark is made with the ink of a vessel on a support: a trial."""

    kind: ClassVar[str] = "mark"
    vessel: str
    trial: str
    support: str
    method: str
    pen: str | None = None
    thinned: Quantity | None = None
    temperature: Quantity | None = None
    angle: Quantity | None = None


@attrs.frozen(kw_only=True)
class Reading(Entry):
    """Something noticed of a vessel, lot, trial, support, exemplar or card.

    ``value`` is a `Quantity`; a word of the scale of ``what``; a dict of R, G,
    B or L, a, b; the name of a kept picture; or "darker t3" where ``what`` is
    "than". ``sd`` is as the maker gave it; for a dict without one,
    `channel_sd` says what its instrument is worth. ``water`` is what the same
    device gave with water.
    """

    kind: ClassVar[str] = "reading"
    of: str
    what: str
    value: Quantity | str | dict[str, float]
    sd: float | str | dict[str, float] | None = None
    with_: str | None = None
    against: str | None = None
    water: Quantity | None = None

    @property
    def subject(self) -> tuple[str, str]:
        """The sort of thing read and its name: ``("vessel", "tub")``."""
        sort, _, name = self.of.partition(":")
        return sort, name

    @property
    def compared(self) -> tuple[str, str] | None:
        """The word and the other trial of a "than" reading: ``("darker", "t3")``."""
        if self.what != "than" or not isinstance(self.value, str):
            return None
        word, _, trial = self.value.partition(" ")
        return word, trial


@attrs.frozen(kw_only=True)
class Remark(Entry):
    """Plain text."""

    kind: ClassVar[str] = "remark"
    text: str


@attrs.frozen(kw_only=True)
class Amend(Entry):
    """An earlier entry is replaced; it stays in the daybook and is read no more."""

    kind: ClassVar[str] = "amend"
    entry: int
    replacement: Entry


@attrs.frozen(kw_only=True)
class Void(Entry):
    """An earlier entry is struck out, and why."""

    kind: ClassVar[str] = "void"
    entry: int
    why: str
