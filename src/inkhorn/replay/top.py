"""What the top of a standing liquor looks like: clear, a gleaming film, spots of mould, a skin of it."""

from __future__ import annotations

import numpy as np

from inkhorn.handbook.load import value
from inkhorn.replay import composition, people, spoil
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array
from inkhorn.replay.world import VesselState

_LEAST = 1e-3


def surface(state: VesselState, draws: Draws) -> Array:
    """Return how far the top has gone, natural log, (N,): 0 is where mould is about to show.

    Mould: the time that it has had over the time that it takes to show. An
    ink whose iron has turned and met its tannin gets a film of it first, which
    looks like the beginning of that but goes no farther.
    """
    liquor = state.liquor
    grown = np.broadcast_to(state.growth, (draws.n,)) / spoil.onset(liquor, draws)
    mould = np.log(grown + _LEAST)
    if not liquor.has("complex_iron"):
        return np.asarray(mould)
    turned = liquor["complex_iron"] / np.maximum(composition.iron_total(liquor), NOTHING)
    clear, spots = people.cuts("surface")[:2]
    middle = (clear + spots) / 2
    film = clear + np.log(turned / value("readings.film") + _LEAST)
    return np.asarray(np.maximum(mould, np.minimum(film, middle)))
