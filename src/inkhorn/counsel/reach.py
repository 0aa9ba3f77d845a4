"""Whether a page can be reached with what is on the bench, and what else would reach it."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.counsel.actions import ML, Action
from inkhorn.counsel.result import Fetch
from inkhorn.counsel.search import Pool, try_all
from inkhorn.counsel.trial_run import Outcome, Table, narrowed, try_courses
from inkhorn.handbook.load import group, value
from inkhorn.replay import composition, dissolve, warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Liquor
from inkhorn.replay.world import VesselState

Array = NDArray[np.float64]
# numbers-in-code: how much of a liquor that is not there is tried, as shares of the pot; of boiling off; of iron
_POURED, _BOILED, _IRON = (0.1, 0.25, 0.5, 1.0, 2.0), (0.0, 0.3, 0.55), (0.0, 0.15, 0.4)
_TOLD = 2


def match_chance(table: Table, outcome: Outcome) -> float:
    """Return the chance that the first course tried matches: colour, flow and iron all in order."""
    near = outcome.distance[0] <= table.match
    return float((near & outcome.flow_ok[0] & outcome.permanence_ok[0]).mean())


def nearest(pool: Pool) -> Array:
    """Return on each draw the distance of the best course that keeps flow and iron in order, (M,)."""
    return np.asarray(np.where(pool.safe, pool.distance, np.inf).min(axis=0))


def reachable(table: Table, pool: Pool) -> tuple[float, float]:
    """Return the chances that some course tried brings the pot within a match, and within twice that.

    On each draw the best course for that draw counts: what somebody who knew
    the pot could do with it.
    """
    near, match = nearest(pool), table.match
    return float((near <= match).mean()), float((near <= 2 * match).mean())


def would_reach(table: Table, actions: Sequence[Action], least: float) -> tuple[Fetch, ...]:
    """Return which liquors that are not on the bench would bring the page into reach, the best two.

    Parameters
    ----------
    actions : sequence of Action
        What the bench itself offers; its iron and boiling are tried along.
    least : float
        Only what raises the chance of a match above this is told.
    """
    state = narrowed(table).vessels[table.vessel]
    ml = float(np.median(composition.volume(state.liquor, state.temperature)))
    boil = next((i for i, a in enumerate(actions) if a.kind == "reduce"), None)
    iron = next((i for i, a in enumerate(actions) if _is_iron(a)), None)
    found = []
    for name, (words, liquor) in _liquors(table, missing_iron=iron is None).items():
        there = VesselState(liquor=liquor, temperature=warmth.room(Draws(table.unknowns, table.z)))
        with_it = attrs.evolve(table, beside={name: there})
        pour = Action(
            kind="pour", vessel=table.vessel, what=name, material="", most=max(_POURED) * ml, unit=ML
        )
        menu = (pour, *actions)
        rows = []
        for share, off, more in itertools.product(
            _POURED, _BOILED if boil is not None else (0.0,), _IRON if iron is not None else (0.0,)
        ):
            row = np.zeros(len(menu))
            row[0] = share * ml
            if boil is not None:
                row[boil + 1] = off
            if iron is not None:
                row[iron + 1] = more * actions[iron].most
            rows.append(row)
        chance, _ = reachable(with_it, try_all(with_it, menu, np.array(rows)))
        if chance > least:
            found.append(Fetch(material=name, chance=chance, sentence=_sentence(words, chance)))
    return tuple(sorted(found, key=lambda f: -f.chance)[:_TOLD])


def _is_iron(action: Action) -> bool:
    return action.kind == "add-lot" and dissolve.role(action.material) == "iron salt"


def _liquors(table: Table, *, missing_iron: bool) -> dict[str, tuple[str, Liquor]]:
    """Return strong liquors of the handbook's plants, and vitriol water where no iron is at hand, by name."""
    draws = Draws(table.unknowns, table.z)
    have = {lot.material for lot in table.post.played.world.lots.values() if not lot.withheld}
    out: dict[str, tuple[str, Liquor]] = {}
    strength = value("counsel.fetch.strength")
    for plant, facts in group("materials").items():
        if facts.get("role") != "tannin":
            continue
        inside, _, _ = dissolve.soluble_of_plant(f"fetch {plant}", plant, np.ones(draws.n), draws)
        tannin = inside["gallotannin"] + inside["ellagitannin"] + inside["condensed"]
        called = str(facts["names"][0])
        words = f"a fresh strong liquor of your {called}" if plant in have else f"a strong liquor of {called}"
        litre = inside * (strength / tannin)
        out[plant] = (words, litre.changed(water=np.full(draws.n, 1e3)))
    if missing_iron:
        grams = value("counsel.fetch.vitriol")
        moles = np.full(draws.n, grams / molar_mass("FeSO4.7H2O"))
        water = Liquor.of(draws.n, iron2=moles, sulfate=moles, water=np.full(draws.n, 1e3))
        out["green vitriol"] = ("green vitriol dissolved in water", water)
    return out


def _sentence(words: str, chance: float) -> str:
    # numbers-in-code: chances in words
    how = "would very likely" if chance > 0.8 else "would probably" if chance > 0.5 else "might"
    return f"{words[0].upper()}{words[1:]} {how} bring the page into reach (chance {100 * chance:.0f} %)."


def closest_looks(table: Table, actions: Sequence[Action], amounts: Array) -> Array:
    """Return the density of the stroke of one course on each draw, (M, 3)."""
    return np.asarray(try_courses(table, actions, amounts[None]).density[0])
