"""The state of a whole bench at one moment, frozen; steps return a new one."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import attrs

from inkhorn.replay.liquor import Array, Liquor


@attrs.frozen(kw_only=True, eq=False)
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
    """

    inside: Liquor
    solid: Array
    held: Liquor
    pieces: str
    form: str
    source: str


@attrs.frozen(kw_only=True, eq=False)
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
    """

    liquor: Liquor
    temperature: Array
    marc: Marc | None = None
    at: Array | float = 0.0
    withheld: str = ""


@attrs.frozen(kw_only=True, eq=False)
class LotState:
    """A raw material and what is left of it, g; None where nobody said how much there was."""

    material: str
    mass: Array | None = None
    pieces: str = "whole"
    withheld: str = ""


@attrs.frozen(kw_only=True, eq=False)
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
    """

    vessel: str
    support: str
    method: str
    width_of: str
    at: float
    liquor: Liquor
    film: Array
    withheld: str = ""


@attrs.frozen(kw_only=True, eq=False)
class World:
    """Every vessel, lot, marc and trial, with the account of what came in and went out."""

    n: int
    now: float
    vessels: Mapping[str, VesselState]
    lots: Mapping[str, LotState]
    marcs: Mapping[str, Marc]
    trials: Mapping[str, TrialState]
    entered: Liquor
    lost: Liquor

    @classmethod
    def start(cls, n: int, lots: Mapping[str, LotState], now: float) -> World:
        """Return an empty bench with these lots on the shelf."""
        nothing = MappingProxyType({})
        return cls(
            n=n,
            now=now,
            vessels=nothing,
            lots=lots,
            marcs=nothing,
            trials=nothing,
            entered=Liquor.empty(n),
            lost=Liquor.empty(n),
        )

    def with_vessel(self, name: str, state: VesselState) -> World:
        """Return the bench with one vessel replaced or added."""
        return attrs.evolve(self, vessels={**self.vessels, name: state})

    def with_lot(self, name: str, state: LotState) -> World:
        """Return the bench with one lot replaced or added."""
        return attrs.evolve(self, lots={**self.lots, name: state})

    def with_marc(self, name: str, marc: Marc | None) -> World:
        """Return the bench with the marc of a vessel set aside, or taken away (None)."""
        marcs = {k: m for k, m in self.marcs.items() if k != name}
        if marc is not None:
            marcs[name] = marc
        return attrs.evolve(self, marcs=marcs)

    def with_trial(self, name: str, trial: TrialState) -> World:
        """Return the bench with one trial added or laid again."""
        return attrs.evolve(self, trials={**self.trials, name: trial})

    def took_in(self, liquor: Liquor) -> World:
        """Return the bench with something entered in the account."""
        return attrs.evolve(self, entered=self.entered + liquor)

    def gave_out(self, liquor: Liquor) -> World:
        """Return the bench with something lost in the account."""
        return attrs.evolve(self, lost=self.lost + liquor)
