"""A little of the pot with more iron in it, or more tannin, to tell which of the two runs short there.

No strip of the pot itself tells whether more iron would darken it or only be
left over. A strip of a little of it with half as much again tells just that:
iron makes it darker where iron ran short, and leaves it as dark as it was where
the tannin is full; tannin the other way round (common practice). A liquor also
thins: one no stronger than the pot keeps it dark at best.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import attrs
import numpy as np

from inkhorn.counsel.actions import GRAM, ML, sensible, written
from inkhorn.counsel.fresh import numbered
from inkhorn.counsel.plain import amount_words
from inkhorn.counsel.trial_run import Table, narrowed
from inkhorn.estimate.contents import dry_stroke
from inkhorn.handbook.load import value
from inkhorn.replay import composition, dissolve
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array, Liquor
from inkhorn.replay.world import LotState, VesselState, World, but


@attrs.frozen(kw_only=True, eq=False)
class Saucer:
    """What is taken, what is stirred in, and the ink that it makes.

    Attributes
    ----------
    more : str
        "iron" or "tannin".
    vessel, name : str
        The pot, and what the saucer is called in the daybook.
    ml : float
        How much of the pot.
    what, amount, unit : str, float, str
        The lot (g) or the liquor (ml) stirred in.
    material : str
        Handbook key of the lot; "" for a liquor.
    state : VesselState
        The pot's own with the mixture for a liquor.
    """

    more: str
    vessel: str
    name: str
    ml: float
    what: str
    amount: float
    unit: str
    material: str
    state: VesselState

    @property
    def entries(self) -> tuple[dict[str, Any], ...]:
        """Return it as entries without ``at``."""
        drawn = {"kind": "pour", "from": self.vessel, "into": self.name, "amount": written(self.ml, ML)}
        if self.unit == GRAM:
            more = {"kind": "add", "into": self.name, "lot": self.what, "amount": written(self.amount, GRAM)}
        else:
            more = {"kind": "pour", "from": self.what, "into": self.name, "amount": written(self.amount, ML)}
        return (drawn, more)

    @property
    def ask(self) -> str:
        """Return it as the beginning of a sentence."""
        much = amount_words(self.amount, self.unit, self.material or None)
        what, pot = self.what.replace("-", " "), self.vessel.replace("-", " ")
        short, full = ("iron", "the tannin") if self.more == "iron" else ("the tannin", "iron")
        # A liquor no stronger than the pot keeps a pot dark that has iron to spare, and thins any other.
        thins = self.more == "tannin" and self.unit == ML
        told, other = ("no paler", "paler") if thins else ("darker", "no darker")
        return (
            f"stir {much} of the {what} into {self.ml:g} ml of the {pot} in a saucer (not one to eat from), write a "
            f"line of it beside your last, and look at both dry: {told}, and {short} runs short; {other}, and {full} does"
        )


def with_more(more: str, table: Table) -> Saucer | None:
    """Return a saucer of the pot with more iron or tannin, or None where none is at hand or there is too little ink.

    Parameters
    ----------
    more : str
        "iron" or "tannin".
    table : Table
        The saucer's ink has one column for each of its draws.
    """
    world, draws = narrowed(table), Draws(table.unknowns, table.z)
    pot = world.vessels[table.vessel]
    held = composition.volume(pot.liquor, pot.temperature)
    room = value("counsel.saucer.share") * float(np.median(held))
    capacity = _holds(pot.liquor * (1.0 / np.maximum(held, NOTHING)), draws)["tannin"]
    if capacity <= NOTHING * NOTHING:
        return None
    wanted = value("counsel.saucer.more") * capacity
    for what, material, unit, of_one, most in _at_hand(more, table, world, draws):
        per_unit = _holds(of_one, draws)[more]
        least = value("counsel.cup.least_g" if unit == GRAM else "counsel.cup.least_ml")
        ml = sensible(max(least * per_unit / wanted, value("counsel.saucer.ml")))
        amount = max(sensible(wanted * ml / max(per_unit, NOTHING * NOTHING)), least)
        if ml > room or amount > most:
            continue
        mixed = pot.liquor * (ml / np.maximum(held, NOTHING)) + of_one * amount
        return Saucer(
            more=more, vessel=table.vessel, name=numbered(table.post, "saucer", 1), ml=ml, what=what, amount=amount, unit=unit, material=material,
            state=but(pot, liquor=mixed),
        )  # fmt: skip
    return None


def _at_hand(
    more: str, table: Table, world: World, draws: Draws
) -> Iterator[tuple[str, str, str, Liquor, float]]:
    """Yield what brings more of it: name, material, unit, what one unit brings (M draws), and how much there is."""
    for name, lot in world.lots.items():
        if lot.withheld or not _is_such(lot, name, table, _LOTS[more]):
            continue
        most = np.inf if lot.mass is None else float(np.median(lot.mass))
        yield name, lot.material, GRAM, dissolve.dissolved_from(name, lot, draws.full(1.0), draws), most
    for name, state in world.vessels.items():
        if name == table.vessel or state.withheld or state.marc is not None or not state.liquor.has("water"):
            continue
        ml = composition.volume(state.liquor, state.temperature)
        one = state.liquor * (1.0 / np.maximum(ml, NOTHING))
        holds = _holds(one, draws)
        wanted = holds.pop(more)
        (other,) = holds.values()
        # Of nothing but the one: an ink would bring both.
        if wanted > NOTHING and other < value("counsel.fresh.plain") * wanted:
            yield name, "", ML, one, float(np.median(ml))


def _holds(liquor: Liquor, draws: Draws) -> dict[str, float]:
    """Return the iron of a liquor, and the iron that its tannin can hold, in the middle, mol."""
    bound = composition.dry_binding(liquor, draws)
    return {"iron": float(np.median(bound.iron)), "tannin": float(np.median(bound.capacity))}


#: Role of the lots that bring it, and the property that tells their strength.
_LOTS = {"iron": ("iron salt", "iron"), "tannin": ("pure tannin", "purity")}


def _is_such(lot: LotState, name: str, table: Table, sought: tuple[str, str]) -> bool:
    """Say whether a lot is of the role sought, and the draws know its strength."""
    role, key = sought
    if not dissolve.is_material(lot.material) or dissolve.role(lot.material) != role:
        return False
    return lot.holds is not None or f"lot:{name}/{key}" in table.unknowns


def darkness(saucer: Saucer, table: Table) -> Array:
    """Return the density of a usual dry stroke of the saucer's ink, (M, 3)."""
    draws, plan = Draws(table.unknowns, table.z), table.post.problem.plan
    return dry_stroke(saucer.state, table.hand, plan, table.goal.reflectance, draws).density
