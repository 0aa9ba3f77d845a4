"""What unknowns have in common: lots of one source, amounts judged by one person's eye.

Part of the variance of such an unknown is shared: its standard-normal number is
``sqrt(r) z_common + sqrt(1 - r) z_own``, which is standard normal again. So what
is expected of a single lot, or of a single pour, is what it was; but what one
gathering taught of a source is where the next one starts, and a person found to
pour short is expected to go on doing so.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from types import MappingProxyType

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Gather, Reading
from inkhorn.handbook.load import group, value
from inkhorn.quantities import Quantity

#: Whoever did not say who they were.
NOBODY = "somebody"
#: How an amount was told, by what it is an amount of; a depth is a volume.
_BY_EYE = {"volume": "volume", "length": "volume", "mass": "mass", "fraction": "fraction"}
_OF_LOT = re.compile(r"lot:(?P<lot>[^/]+)/(?P<key>[a-z_]+)")


@attrs.frozen(kw_only=True)
class Kin:
    """Who and what stands behind the unknowns of a daybook.

    Parameters
    ----------
    amounts : mapping
        Name of the unknown of an amount judged by eye to what it shares.
    sources : mapping
        Lot to what it shares with the other lots of its source; only lots that have any.
    """

    amounts: Mapping[str, str]
    sources: Mapping[str, str]

    def __call__(self, name: str) -> tuple[str, float]:
        """Return the unknown that one of this name shares, and the share of its variance; nothing: ("", 0)."""
        if name in self.amounts:
            return self.amounts[name], value("readings.eye_share")
        found = _OF_LOT.fullmatch(name)
        if found and found["lot"] in self.sources and found["key"] in group("harvest.kin"):
            key = found["key"]
            return f"{self.sources[found['lot']]}/{key}", value(f"harvest.kin.{key}")
        return "", 0.0


def kinship(entries: Sequence[Recorded]) -> Kin:
    """Return what the unknowns of a daybook have in common."""
    amounts: dict[str, str] = {}
    for item in entries:
        if isinstance(item.entry, Reading):
            continue
        for field in attrs.fields(type(item.entry)):
            said = getattr(item.entry, field.name)
            if isinstance(said, Quantity) and is_by_eye(said):
                amounts[f"entry:{item.number}/{field.name.rstrip('_')}"] = eye_of(item.entry.who, said)
    return Kin(amounts=MappingProxyType(amounts), sources=MappingProxyType(_sources(entries)))


def is_by_eye(said: Quantity) -> bool:
    """Say whether an amount was judged by somebody's eye."""
    return said.how == "by eye" and said.dimension in _BY_EYE


def eye_of(who: str | None, said: Quantity) -> str:
    """Return the name of a person's lasting bias in judging such an amount."""
    return f"who:{person(who)}/{_BY_EYE[said.dimension]}"


def person(who: str | None) -> str:
    """Return a person's name as unknowns carry it; those who did not say are one."""
    return _plain(who or "") or NOBODY


def _sources(entries: Sequence[Recorded]) -> dict[str, str]:
    """Return what each lot shares with other lots of the same material from the same source."""
    of: dict[str, str] = {}
    for item in entries:
        entry = item.entry
        if isinstance(entry, Gather) and entry.source and _plain(entry.source):
            # A second gathering into the same lot adds to it; the lot stays what it was.
            of.setdefault(entry.lot, f"source:{entry.material}@{_plain(entry.source)}")
    many = Counter(of.values())
    return {lot: source for lot, source in of.items() if many[source] > 1}


def _plain(text: str) -> str:
    """Return words without case, marks and spaces that mean nothing."""
    return "-".join(re.findall(r"\w+", text.casefold()))
