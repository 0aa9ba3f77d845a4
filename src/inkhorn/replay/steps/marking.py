"""Marks made with the ink of a vessel."""

from __future__ import annotations

import numpy as np

from inkhorn.daybook.entries import Mark
from inkhorn.daybook.inventory import Inventory
from inkhorn.replay import ground, luck, seen, skin, strokes
from inkhorn.replay.draws import Draws
from inkhorn.replay.steps.dispatch import apply, kelvin, vessel_at
from inkhorn.replay.world import TrialState, World


@apply.register
def _(step: Mark, number: int, world: World, draws: Draws, shelf: Inventory) -> World:
    state, world = vessel_at(step.vessel, world, draws)
    temperature = (
        state.temperature
        if step.temperature is None
        else kelvin(number, "temperature", step.temperature, draws)
    )
    ink = strokes.one_ml(state.liquor, state.temperature)
    if step.thinned is not None:
        ink = ink * np.minimum(draws.amount(number, "thinned", step.thinned), 1.0)
    thick = seen.viscosity(state.liquor, temperature, draws)
    pen = shelf.pens.get(step.pen) if step.pen is not None else None
    film = strokes.film_laid(
        tool=step.pen or "",
        method=step.method,
        viscosity=thick,
        draws=draws,
        pen_kind=None if pen is None else pen.material,
    )
    sheet = shelf.supports.get(step.support)
    chalk = skin.chalk_of(
        step.support, sheet.material if sheet else None, sheet.preparation if sheet else None, draws
    )
    if step.method in ground.WITH_PEN:
        # What spreads into a thirsty support lies thinner on it.
        film = film * ground.thinning(ground.edge_of(pen), ground.of_thing(step.support, sheet, draws))
    trial = TrialState(
        vessel=step.vessel,
        support=step.support,
        method=step.method,
        width_of=step.pen or "",
        at=world.now,
        liquor=ink,
        film=film * np.exp(luck.scatter(tuple(shelf.trials), draws)[step.trial]),
        withheld=state.withheld,
        chalk=chalk,
        ready=skin.ready_in_pot(ink, draws),
    )
    return world.with_vessel(step.vessel, state).with_trial(step.trial, trial)
