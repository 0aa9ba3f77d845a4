"""The Saltmere roll: an invented workshop, with its record, its photographs and its hidden truth.

Nothing in it is real. The place names are made up, nobody is named, and every
figure and picture is computed from a make-believe truth (`inkhorn.simulate`).
The story: an ink of sumac leaf and alder cones with bought vitriol and plum gum,
meant to match the worn roll, comes out too pale and too thin.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import attrs

from inkhorn.simulate.truth import Truth
from inkhorn.simulate.workshops import tuned

Entry = dict[str, Any]
#: The make-believe workshop that the demonstration shows unless told otherwise.
SEED = 174
EXEMPLAR = "saltmere-roll"
POT = "pot"
PEN = "reed-3mm"
NOTICE = "Invented: the Saltmere roll is a demonstration. No such roll, place or workshop exists."
#: How much stronger the roll's ink was than the pot turns out, and how far it has aged.
_STRONGER, _AGED = 5 / 3, 4 / 5


@attrs.define(kw_only=True)
class Roll:
    """The invented roll as it is made: the truth, what was written down, and the pictures taken."""

    truth: Truth
    folder: Path
    at: datetime = datetime(2026, 9, 12, 14, 0)  # noqa: DTZ001 - daybook times carry no zone
    entries: list[Entry] = attrs.field(factory=list)
    _reserved: int = 0

    def do(self, kind: str, *, hours: float = 0.5, **keys: Any) -> None:
        """Do one thing and write it down, then let time pass."""
        entry = self._written(kind, keys)
        self.truth.apply(entry)
        self._wait(hours)

    def slip(self, kind: str, truly: Mapping[str, Any], **keys: Any) -> int:
        """Do one thing but write down another; return the number of the faulty entry."""
        entry = self._written(kind, keys)
        self.truth.apply({**entry, **truly})
        self._wait(0.5)
        return len(self.entries)

    def mend(self, number: int, **truly: Any) -> None:
        """Correct an entry by a later one."""
        replacement = {**self.entries[number - 1], **truly}
        self._written("amend", {"entry": number, "replacement": replacement})
        self._wait(0.2)

    def see(self, of: str, what: str, **how: Any) -> None:
        """Notice one thing and write it down."""
        request = {"at": self._now(), "kind": "reading", "of": of, "what": what, **_keys(how)}
        self.entries.append(self.truth.notice(request, folder=self.folder))
        self._wait(0.2)

    def reserve(self) -> None:
        """Keep this line for the photograph of the original, whose hidden ink is mixed later."""
        self._reserved = len(self.entries)
        self._written("reading", {"of": f"exemplar:{EXEMPLAR}", "what": "photo"})
        self._wait(0.5)

    def fill(self) -> None:
        """Render the original and complete the reserved line."""
        line = self.entries[self._reserved]
        request = {k: v for k, v in line.items() if k != "at"}
        line["value"] = self.truth.notice(request, folder=self.folder)["value"]

    def say(self, text: str) -> None:
        """Write a remark."""
        self._written("remark", {"text": text})
        self._wait(0.1)

    def until(self, moment: str) -> None:
        """Let time pass until a moment, if that is still to come."""
        self.at = max(self.at, datetime.fromisoformat(moment))

    def _written(self, kind: str, keys: Mapping[str, Any]) -> Entry:
        entry = {"at": self._now(), "kind": kind, **_keys(keys)}
        self.entries.append(entry)
        return entry

    def _now(self) -> str:
        return self.at.isoformat(timespec="minutes")

    def _wait(self, hours: float) -> None:
        later = (self.truth.now + timedelta(minutes=1)).replace(second=0, microsecond=0)
        self.at = max(self.at + timedelta(hours=hours), later).replace(second=0)


def _keys(keys: Mapping[str, Any]) -> dict[str, Any]:
    """Return keys without the underscore that keeps Python's own words apart."""
    return {k.removesuffix("_"): v for k, v in keys.items()}


def make(folder: Path, seed: int = SEED) -> Roll:
    """Make the roll: drive the truth through the story, writing its pictures into ``folder``.

    Parameters
    ----------
    folder : Path
        Where the rendered photographs go.
    seed : int
        Which make-believe workshop.

    Returns
    -------
    Roll
        With ``entries`` in the JSON form of the daybook, pictures as paths.
    """
    roll = Roll(truth=Truth(seed), folder=folder)
    _gathering(roll)
    _steeping(roll)
    _mixing(roll)
    _original(roll)
    _trying(roll)
    return roll


def entries(folder: Path, seed: int = SEED) -> list[Entry]:
    """Return the invented record, about thirty entries; photographs are rendered into ``folder``."""
    return make(folder, seed).entries


def _gathering(r: Roll) -> None:
    r.say(NOTICE)
    r.reserve()
    r.do("gather", hours=0.1, lot="sumac-leaf", material="sumac leaf", amount="900 g", source="north bank of Wick Holm",
         part="leaf", leave="free below the sea wall")  # fmt: skip
    r.do("gather", hours=0.1, lot="alder-cones", material="alder cones", amount="350 g", source="Cinder Carr, fallen cones",
         leave="open ground")  # fmt: skip
    r.do(
        "gather",
        hours=0.1,
        lot="vitriol",
        material="bought green vitriol",
        amount="250 g",
        source="bought, in a tin",
    )
    r.do("gather", hours=0.1, lot="plum-gum", material="plum gum", amount="60 g", source="old plum trees at Low Garth",
         note="kept in a jar")  # fmt: skip
    r.do("vessel", hours=0.1, name="tub", capacity="12 L", made_of="stoneware")
    r.do("vessel", hours=0.1, name=POT, capacity="8 L", made_of="enamelled steel")
    r.do(
        "support",
        hours=0.1,
        name="goat-1",
        material="goat parchment",
        side="flesh",
        preparation="pounced and scraped",
    )
    r.do("pen", hours=0.1, name=PEN, cut="reed", width="3 mm")


def _steeping(r: Roll) -> None:
    r.do("steep", hours=18.5, lot="sumac-leaf", amount="480 g", liquid="spring water", liquid_amount="about 5 L",
         into="tub", for_="18 h", temperature="17 degC", pieces="crushed")  # fmt: skip
    r.do("strain", vessel="tub", into=POT)
    r.see("vessel:pot", "ph", with_="strip")
    r.do("steep", hours=6.5, lot="alder-cones", amount="120 g", liquid="spring water", liquid_amount="about 1.5 L",
         into="jug", for_="6 h", temperature="40 degC", pieces="crushed")  # fmt: skip
    r.do("strain", vessel="jug", into=POT)
    r.until("2026-09-14T08:30")
    r.do("reduce", hours=5, vessel=POT, to="about 2.4 L", note="kept at a low simmer, smells of hay")
    r.see("vessel:pot", "volume", with_="jug")


def _mixing(r: Roll) -> None:
    r.until("2026-09-14T15:30")
    faulty = r.slip("add", {"amount": "42 g"}, into=POT, lot="vitriol", amount="24 g")
    r.mend(faulty, amount="42 g")
    r.do("add", into=POT, lot="plum-gum", amount="roughly a third of the plum-gum jar")
    r.say("Iron drawn by vinegar is planned for a later pot; this one has the bought vitriol.")
    r.do("rest", hours=20.2, vessel=POT, for_="20 h", covered=True)
    r.until("2026-09-15T13:00")
    r.see("vessel:pot", "ph", with_="strip")
    r.see("vessel:pot", "body")


def _original(r: Roll) -> None:
    """Make the hidden original: the same kind of ink, stronger, old and worn."""
    truth = r.truth
    ink = tuned(truth.bench.vessels[POT].liquor, truth.bench.n, strength=_STRONGER)
    truth.exemplar(EXEMPLAR, ink, ageing=_AGED, pen=PEN)
    r.fill()


def _trying(r: Roll) -> None:
    r.do("mark", vessel=POT, trial="t1", support="goat-1", method="dip")
    r.do("mark", vessel=POT, trial="t2", support="goat-1", method="drop", thinned="1 in 8")
    r.do("mark", vessel=POT, trial="t3", support="goat-1", method="line", pen=PEN)
    r.do("mark", hours=24, vessel=POT, trial="t4", support="goat-1", method="pangram", pen=PEN)
    r.say("Left overnight by the north window. The strokes came up grey first, then darkened.")
    for trial in ("t1", "t2", "t3", "t4"):
        r.see(f"trial:{trial}", "photo")
    r.see("trial:t3", "depth", against=EXEMPLAR)
    r.see("trial:t3", "flow")
    r.say("Beside the roll the line looks washed out, and the reed lets it run too freely.")
