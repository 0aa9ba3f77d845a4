"""The state of a whole bench at one moment, frozen; steps return a new one."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, TypeVar

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.replay.liquor import Array, Liquor

Picks = NDArray[np.intp]
Thing = TypeVar("Thing")


def but(thing: Thing, **fields: Any) -> Thing:
    """Return a copy of a frozen thing of this module with some fields other; `attrs.evolve`, ten times as quick.

    A replay makes thousands of these copies. The fields are not checked again;
    a name that is none of them is an error.
    """
    copy = object.__new__(type(thing))
    mine = thing.__dict__
    if not mine.keys() >= fields.keys():
        raise TypeError(f"{type(thing).__name__} has no {', '.join(fields.keys() - mine.keys())}")
    copy.__dict__.update(mine, **fields)
    return copy


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Marc:
    """Spent solids: what they still hold inside, and the liquor that clings to them.

    Parameters
    ----------
    inside : Liquor
        Soluble matter not yet drawn out.
    solid : ndarray, shape (N,)
        Dry mass that never dissolves, g.
    held : Liquor
        Liquor kept back when the rest was strained off (nothing while soaking).
    pieces : str
        Handbook key of their size: whole, chips, crushed or powder.
    form : str
        Handbook form of the material: gall, bark, leaf ...
    source : str
        The lot they came from; its unknowns drive the soaking.
    given : ndarray, shape (N,), or float
        Share of what was inside that this soak has drawn out already; 0 where it begins.
    """

    inside: Liquor
    solid: Array
    held: Liquor
    pieces: str
    form: str
    source: str
    given: Array | float = 0.0

    def columns(self, picks: Picks) -> Marc:
        """Return the marc for some of its draws."""
        return but(
            self,
            inside=self.inside.columns(picks),
            held=self.held.columns(picks),
            solid=self.solid[picks],
            given=np.broadcast_to(self.given, len(self.solid))[picks],
        )


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Metal:
    """Metallic iron lying in a liquor: mol left of it, (N,), and the lot it is from."""

    iron: Array
    source: str


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Ore:
    """An iron sulfide lying wet: mol of FeS2 left, seconds that it was wet so far, each (N,), and its lot."""

    sulfide: Array
    wet: Array
    source: str
    material: str


@attrs.frozen(kw_only=True, eq=False, slots=False)
class VesselState:
    """What one vessel holds.

    Parameters
    ----------
    liquor : Liquor
        The liquid and what is dissolved or suspended in it.
    temperature : ndarray, shape (N,)
        Kelvin.
    marc : Marc or None
        Solids soaking in it.
    at : ndarray, shape (N,), or float
        Seconds of the bench clock up to which its quiet changes are reckoned; a
        boil to a volume ends at another moment in each draw.
    withheld : str
        Why the estimate of this vessel is withheld; empty if it is not.
    metal : Metal or None
        Iron filings or nails lying in it.
    ore : Ore or None
        A sulfide lying in it.
    growth : ndarray, shape (N,), or float
        Time that mould has had, s at 20 degC in the open; boiling sets it back.
    cover : str
        How it stands when nobody says more: covered, stoppered or open.
    """

    liquor: Liquor
    temperature: Array
    marc: Marc | None = None
    at: Array | float = 0.0
    withheld: str = ""
    metal: Metal | None = None
    ore: Ore | None = None
    growth: Array | float = 0.0
    cover: str = "covered"

    def columns(self, picks: Picks) -> VesselState:
        """Return the vessel for some of its draws."""
        n = len(self.temperature)
        metal, ore = self.metal, self.ore
        return but(
            self,
            liquor=self.liquor.columns(picks),
            temperature=self.temperature[picks],
            marc=None if self.marc is None else self.marc.columns(picks),
            at=np.broadcast_to(self.at, n)[picks],
            growth=np.broadcast_to(self.growth, n)[picks],
            metal=None if metal is None else but(metal, iron=metal.iron[picks]),
            ore=None if ore is None else but(ore, sulfide=ore.sulfide[picks], wet=ore.wet[picks]),
        )


@attrs.frozen(kw_only=True, eq=False, slots=False)
class LotState:
    """A raw material and what is left of it, g; None where nobody said how much there was.

    Parameters
    ----------
    holds : Liquor or None
        What a gram of it holds, where the bench itself made it: crystals grown
        from a liquor of known content.
    fresh : bool or None
        Whether a plant is as gathered (True) or air-dry (False); None where
        nobody said, which is taken as air-dry until it is dried.
    """

    material: str
    mass: Array | None = None
    pieces: str = "whole"
    withheld: str = ""
    holds: Liquor | None = None
    fresh: bool | None = None

    def columns(self, picks: Picks) -> LotState:
        """Return the lot for some of its draws."""
        return but(
            self,
            mass=None if self.mass is None else self.mass[picks],
            holds=None if self.holds is None else self.holds.columns(picks),
        )


@attrs.frozen(kw_only=True, eq=False, slots=False)
class TrialState:
    """Marks made at a moment: the ink as it was, per ml, and the film laid.

    Parameters
    ----------
    liquor : Liquor
        One ml of the ink as it went on (thinned if it was).
    film : ndarray, shape (N,)
        Mean wet thickness, um, this trial's own luck included.
    width_of : str
        The pen's name, empty where none was used.
    chalk : ndarray, shape (N,), or None
        Calcium carbonate that the support offers, g/m2; None for enough.
    ready : ndarray, shape (N,), or float
        Share of its iron that was oxidised and bound in the pot already.
    """

    vessel: str
    support: str
    method: str
    width_of: str
    at: float
    liquor: Liquor
    film: Array
    withheld: str = ""
    chalk: Array | None = None
    ready: Array | float = 0.0


@attrs.frozen(kw_only=True, eq=False, slots=False)
class World:
    """Every vessel, lot, marc and trial, with the account of what came in and went out.

    ``entered`` and ``lost`` are the account: what is on the bench is the one
    less the other. Metal and ore enter it as they dissolve. Phenol groups that
    browned or were eaten stand in ``lost`` as the tannin that they were.
    ``hydrogen`` is what acid made with iron so far, mol; ``made_of`` names the
    vessels of bare iron or aluminium.
    """

    n: int
    now: float
    vessels: Mapping[str, VesselState]
    lots: Mapping[str, LotState]
    marcs: Mapping[str, Marc]
    trials: Mapping[str, TrialState]
    entered: Liquor
    lost: Liquor
    hydrogen: Array | float = 0.0
    made_of: Mapping[str, str] = MappingProxyType({})

    @classmethod
    def start(
        cls, n: int, lots: Mapping[str, LotState], now: float, made_of: Mapping[str, str] | None = None
    ) -> World:
        """Return an empty bench with these lots on the shelf."""
        nothing: Mapping[str, Any] = MappingProxyType({})
        return cls(
            n=n,
            now=now,
            vessels=nothing,
            lots=lots,
            marcs=nothing,
            trials=nothing,
            entered=Liquor.empty(n),
            lost=Liquor.empty(n),
            made_of=MappingProxyType(dict(made_of or {})),
        )

    def columns(self, picks: Picks) -> World:
        """Return the bench for some of its draws, its trials left out."""
        return but(
            self,
            n=len(picks),
            vessels={name: state.columns(picks) for name, state in self.vessels.items()},
            lots={name: lot.columns(picks) for name, lot in self.lots.items()},
            marcs={name: marc.columns(picks) for name, marc in self.marcs.items()},
            trials={},
            entered=self.entered.columns(picks),
            lost=self.lost.columns(picks),
            hydrogen=np.broadcast_to(self.hydrogen, self.n)[picks],
        )

    def with_vessel(self, name: str, state: VesselState) -> World:
        """Return the bench with one vessel replaced or added."""
        return but(self, vessels={**self.vessels, name: state})

    def with_lot(self, name: str, state: LotState) -> World:
        """Return the bench with one lot replaced or added."""
        return but(self, lots={**self.lots, name: state})

    def with_marc(self, name: str, marc: Marc | None) -> World:
        """Return the bench with the marc of a vessel set aside, or taken away (None)."""
        marcs = {k: m for k, m in self.marcs.items() if k != name}
        if marc is not None:
            marcs[name] = marc
        return but(self, marcs=marcs)

    def with_trial(self, name: str, trial: TrialState) -> World:
        """Return the bench with one trial added or laid again."""
        return but(self, trials={**self.trials, name: trial})

    def took_in(self, liquor: Liquor) -> World:
        """Return the bench with something entered in the account."""
        return but(self, entered=self.entered + liquor)

    def gave_out(self, liquor: Liquor) -> World:
        """Return the bench with something lost in the account."""
        return but(self, lost=self.lost + liquor)
