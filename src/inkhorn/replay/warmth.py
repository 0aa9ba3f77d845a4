"""How warm it is: the room, and a pot that comes to it."""

from __future__ import annotations

import numpy as np

from inkhorn.chemistry import extraction
from inkhorn.handbook.load import value
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array

ZERO_CELSIUS = 273.15


def room(draws: Draws) -> Array:
    """Return the temperature of the workshop, K, (N,): one array, so that "as warm as the room" is seen at once."""
    return draws.once("bench/room kelvin", lambda: draws.of("bench/room", "pot.room") + ZERO_CELSIUS)


def boiling(draws: Draws) -> Array:
    """Return the temperature of a boiling pot, K, (N,)."""
    return draws.once("bench/boiling kelvin", lambda: draws.full(value("boiling.point")))


def left_alone(temperature: Array, seconds: Array | float, draws: Draws) -> tuple[Array, Array]:
    """Return the mean temperature of a pot left alone for ``seconds`` and that at the end, K, (N,).

    Newton's law of cooling, with one time constant for every pot.
    """
    around = room(draws)
    if temperature is around:
        return around, around
    rate = 1.0 / draws.of("pot/cooling", "pot.cooling")
    over = temperature - around
    passed = np.maximum(rate * seconds, 1e-12)
    gone = -np.expm1(-passed)
    end = temperature - over * gone
    if np.all(np.abs(end - around) < value("pot.same_warmth")):
        end = around
    return around + over * gone / passed, end


def speed(energy: str, reference: str, temperature: Array, draws: Draws) -> Array:
    """Return how much faster than at the reference a process runs, (N,), by the names of two handbook rows."""

    def reckoned() -> Array:
        return extraction.arrhenius(1.0, value(energy), temperature, value(reference))

    return draws.once(f"speed {energy} {reference}", reckoned) if temperature is room(draws) else reckoned()
