"""One workshop played to its end: act, write, wait a day, look; every player by the same rules.

The game knows the truth. A player sees `Game.book` (what the maker wrote down), `Game.dealt` without its
``truth``, and nothing else.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

import attrs
import numpy as np

from inkhorn.colour.difference import ciede2000
from inkhorn.handbook.load import value
from inkhorn.simulate import nature
from inkhorn.simulate.amounts import said
from inkhorn.simulate.deal import PENS, Dealt
from inkhorn.simulate.truth import Truth

Entry = dict[str, Any]
_HANDBOOK_PENS = {"reed": "reed", "goose quill": "goose-quill", "metal nib": "metal-nib"}
#: How often a maker who is asked for a number gives a word instead.
WORDS = 0.6
#: Gum goes in overnight before anything is written.
OVERNIGHT = "12 h"
#: What a player may ask for: the number, and what is said instead when the maker gives a word.
READINGS: Mapping[str, tuple[str, str]] = {
    "viscosity": ("discharge", "body"),
    "discharge": ("discharge", "body"),
    "body": ("body", "body"),
    "volume": ("volume", "volume by eye"),
    "ph": ("ph", "ph"),
    "dry_residue": ("dry_residue", "body"),
    "specific_gravity": ("specific_gravity", "body"),
    "photo": ("optical_density", "depth"),
    "drop": ("drop", "hue"),
    "depth": ("depth", "depth"),
    "hue": ("hue", "hue"),
    "flow": ("flow", "flow"),
    "more_iron": ("optical_density", "than"),
    "more_tannin": ("optical_density", "than"),
    # Another picture of the original; nobody is nearer to it than the first time.
    "page": ("page", "depth"),
}


@attrs.frozen(kw_only=True)
class Standard:
    """What counts as a match, and how long a game may go on."""

    match: float = attrs.field(factory=lambda: value("counsel.match"))
    iron: float = attrs.field(factory=lambda: value("permanence.iron_to_capacity.limit"))
    cap: int = 12


@attrs.frozen(kw_only=True)
class Turn:
    """One trial as it truly was: distance, thickness, iron over capacity, and whether all three are in order."""

    number: int
    vessel: str
    distance: float
    viscosity: float
    iron_ratio: float
    match: bool
    hours: float


@attrs.define(kw_only=True)
class Game:
    """A workshop, its book, its clock and its ledger.

    Parameters
    ----------
    dealt : Dealt
        Left untouched: the game plays on a copy of its truth.
    standard : Standard
        Match and cap.
    """

    dealt: Dealt
    standard: Standard = attrs.field(factory=Standard)
    book: list[Entry] = attrs.field(factory=list)
    turns: list[Turn] = attrs.field(factory=list)
    said_unreachable: bool = False
    gave_up: str = ""
    cups: dict[str, float] = attrs.field(factory=dict)
    touched: bool = False
    _truth: Truth = attrs.field(init=False)
    _at: datetime = attrs.field(init=False)
    _start: datetime = attrs.field(init=False)
    _asked: int = 0
    _lots: dict[str, float] = attrs.field(init=False)
    _original: np.ndarray = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        self._truth = self.dealt.truth.copy()
        self._original = self._truth.original(self.dealt.page).lab
        self.book = [dict(e) for e in self.dealt.entries]
        self._at = self._start = (self._truth.now + timedelta(minutes=5)).replace(second=0, microsecond=0)
        self._lots = {k: v.mass for k, v in self._truth.bench.lots.items()}
        self.write(self.dealt.pot)

    # -- what a player may do ----------------------------------------------------------------------

    @property
    def over(self) -> bool:
        """Tell whether it has matched, been given up, or run out of trials."""
        done = self.said_unreachable or bool(self.gave_up) or len(self.turns) >= self.standard.cap
        return done or self.turns[-1].match

    @property
    def band(self) -> tuple[float, float]:
        """Return the thinnest and the thickest ink that the pen writes with, mPa s."""
        pen = _HANDBOOK_PENS[PENS[self.dealt.pen][0]]
        return value(f"pens.{pen}.flow_low"), value(f"pens.{pen}.flow_high")

    def act(self, actions: Sequence[Mapping[str, Any]]) -> None:
        """Do some things; gum is left to go in overnight."""
        for action in actions:
            self._do(action)
            named = self.dealt.pot in (action.get("into"), action.get("vessel"))
            self.touched |= named and action["kind"] != "store"
        gummed = {str(a["into"]) for a in actions if "gum" in str(a.get("lot", ""))}
        for vessel in sorted(gummed):
            self._do({"kind": "rest", "vessel": vessel, "for": OVERNIGHT, "covered": True})

    def draw_cup(self, ml: float, source: str) -> str:
        """Draw a cup from a vessel and return its name."""
        name = f"cup-{len(self.cups) + 1}"
        self._do({"kind": "pour", "from": source, "into": name, "amount": f"{ml:.3g} ml"})
        return name

    def write(self, vessel: str, celsius: float | None = None) -> Turn:
        """Write one trial, wait a day, and look at it: one reading of its density."""
        number = len(self.turns) + 1
        mark = {
            "kind": "mark", "vessel": vessel, "trial": f"t{number}", "support": self.dealt.support,
            "method": "pen", "pen": self.dealt.pen,
        }  # fmt: skip
        if celsius is not None:
            mark["temperature"] = f"{celsius:g} degC"
        true = self._truth
        turn = self.judge(true, vessel, number, celsius)
        self._do(mark)
        self.turns.append(turn)
        self._asked = 0
        self._at += timedelta(hours=26)
        self._see({"of": f"trial:t{number}", "what": "optical_density"})
        return turn

    def ask(
        self, reading: str, vessel: str | None = None, does: Sequence[Mapping[str, Any]] = ()
    ) -> Entry | None:
        """Take one cheap reading, after what must be done for it; the maker mostly gives a word.

        One a trial: a second returns None.
        """
        if self._asked or reading not in READINGS:
            return None
        self._asked = 1
        vessel, trial = vessel or self.dealt.pot, f"trial:t{len(self.turns)}"
        chance = np.random.default_rng([self.dealt.seed, len(self.turns), 77])
        number, word = READINGS[reading]
        what = word if chance.random() < WORDS else number
        if does:
            return self._beside(trial, what, does)
        if what == "flow":
            return self._see({"of": trial, "what": what})
        if what in ("depth", "hue"):
            return self._see({"of": trial, "what": what, "against": self.dealt.page})
        if what == "optical_density":
            return self._see({"of": trial, "what": what})
        if what == "drop":
            return self._drop(vessel)
        if what == "page":
            return self._see({"of": f"exemplar:{self.dealt.page}", "what": "optical_density"})
        return self._see({"of": f"vessel:{vessel}", "what": what.split()[0], **_with(what)})

    def say_unreachable(self) -> None:
        """Say that the original cannot be reached with what is on the bench; this ends the game."""
        self.said_unreachable = True

    # -- what only the game and the omniscient player know -------------------------------------------

    @property
    def truth(self) -> Truth:
        """Return the truth: for the omniscient player alone."""
        return self._truth

    def judge(
        self,
        truth: Truth,
        vessel: str,
        number: int = 0,
        celsius: float | None = None,
        page: np.ndarray | None = None,
    ) -> Turn:
        """Return how an ink truly stands to the original, or to another colour of the ``page`` (L*, a*, b*)."""
        thick, bench = truth.viscosity(vessel, celsius), truth.bench
        liquor = bench.vessels[vessel].liquor
        ratio = liquor.iron() / max(sum(nature.sites(liquor, bench.n)), 1e-12)
        lab = bench.lab_on(vessel, self.dealt.page, pen=self.dealt.pen, celsius=celsius)
        away = float(ciede2000(lab, self._original if page is None else page))
        low, high = self.band
        match = away <= self.standard.match and low <= thick <= high and ratio <= self.standard.iron
        return Turn(
            number=number, vessel=vessel, distance=away, viscosity=thick, iron_ratio=ratio, match=match,
            hours=(self._at - self._start).total_seconds() / 3600.0,
        )  # fmt: skip

    def ledger(self) -> dict[str, float]:
        """Return ml spoiled, g dissolved in it, g taken out of the jars, and hours.

        Spoiled is what was written away, every cup but the one that matched, and the pot itself where it was
        changed and did not match. A cup counts with what was drawn for it.
        """
        bench, last = self._truth.bench, self.turns[-1]
        kept = last.vessel if last.match else ""
        spoiled = [n for n in self.cups if n != kept]
        ml = sum(self.cups[n] for n in spoiled)
        dry = sum(bench.vessels[n].liquor.solids() for n in spoiled)
        if self.touched and kept != self.dealt.pot and kept not in self.cups:
            ml += self._volume(self.dealt.pot)
            dry += bench.vessels[self.dealt.pot].liquor.solids()
        for turn in self.turns:
            if turn.vessel not in spoiled:
                trial = bench.trials[f"t{turn.number}"]
                ml += bench.volume(_as_vessel(bench, trial.ink))
                dry += trial.ink.solids()
        lots = sum(
            before - bench.lots[k].mass
            for k, before in self._lots.items()
            if math.isfinite(before) and bench.lots[k].mass < before
        )
        return {"ml_spoiled": ml, "g_spoiled": dry, "g_taken": lots, "hours": last.hours}

    # -- inside ----------------------------------------------------------------------------------------

    def _volume(self, vessel: str) -> float:
        return self._truth.bench.volume(self._truth.bench.vessel(vessel))

    def _do(self, action: Mapping[str, Any]) -> None:
        entry = self._as_it_came({"at": self._at.isoformat(timespec="minutes"), **action})
        begun = action["kind"] == "pour" and str(action["into"]) not in self._truth.bench.vessels
        before = self._volume(str(action["from"])) if begun else 0.0
        self.book.append(entry)
        self._truth.apply(entry)
        if begun:
            self.cups[str(action["into"])] = before - self._volume(str(action["from"]))
        after = (self._truth.now + timedelta(minutes=1)).replace(second=0, microsecond=0)
        self._at = max(self._at + timedelta(minutes=15), after)

    def _as_it_came(self, entry: Entry) -> Entry:
        """Return an entry as its maker writes it: who pours a jar dry writes that, not what was wanted."""
        if entry["kind"] != "pour":
            return entry
        wanted = said(entry["amount"])
        dry = wanted.unit == "ml" and wanted.value >= self._volume(str(entry["from"]))
        return {**entry, "amount": "all"} if dry else entry

    def _see(self, request: Mapping[str, Any]) -> Entry:
        at = self._at.isoformat(timespec="minutes")
        entry = self._truth.notice({"at": at, "kind": "reading", **request})
        if entry.get("with") == "eye":
            # A maker writes "about", and names no instrument.
            del entry["with"]
        if entry["what"] == "discharge":
            # The same syringe with water, timed once.
            entry["water"] = f"{self._truth.bench.n('flow.water_run'):.0f} s"
        self.book.append(entry)
        self._at += timedelta(minutes=10)
        return entry

    def _beside(self, trial: str, what: str, does: Sequence[Mapping[str, Any]]) -> Entry:
        """Do something to a little of the ink and write a line of it beside the last trial's."""
        for action in does:
            self._do(action)
        name, last = f"saucer-line-{len(self.turns)}", trial.removeprefix("trial:")
        mark = {"kind": "mark", "vessel": str(does[0]["into"]), "trial": name, "support": self.dealt.support}
        self._do({**mark, "method": "pen", "pen": self.dealt.pen})
        self._at += timedelta(hours=26)
        return self._see({"of": f"trial:{name}", "what": what, "value": f"same {last}"})

    def _drop(self, vessel: str) -> Entry:
        name = f"drop-{len(self.turns)}"
        mark = {
            "kind": "mark",
            "vessel": vessel,
            "trial": name,
            "support": self.dealt.support,
            "method": "drop",
        }
        self._do({**mark, "thinned": "1 in 8"})
        self._at += timedelta(hours=26)
        return self._see({"of": f"trial:{name}", "what": "optical_density"})


def _with(what: str) -> dict[str, str]:
    """Return the instrument of a reading."""
    return {"ph": {"with": "strip"}, "volume": {"with": "jug"}, "volume by eye": {"with": "eye"}}.get(
        what, {}
    )


def _as_vessel(bench: Any, liquor: Any) -> Any:
    vessel = copy.copy(next(iter(bench.vessels.values())))
    vessel.liquor = liquor
    return vessel
