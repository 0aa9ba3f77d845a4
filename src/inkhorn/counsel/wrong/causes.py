"""What can be wrong, and how far the draws of the estimate say that it is.

Each cause has a function from the draws of a pot to a degree between 0 and 1,
one a draw: the normal probability that a figure lies beyond the row where it
begins to speak for the fault. Its mean is the probability, given all that was
recorded, that the pot has the fault. What the figures cannot show (a pen, a
greasy corner) has no such function, or a large `hidden` row.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

import attrs
import numpy as np
from scipy.special import ndtr

from inkhorn.chemistry import binding
from inkhorn.counsel.wrong.asked import Asked
from inkhorn.handbook.load import row, value
from inkhorn.handbook.rows import Row
from inkhorn.replay import composition, dissolve, ground, seen, skin, spoil, strokes
from inkhorn.replay.liquor import NOTHING, Array
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS

ML_PER_DL = 100.0
MMOL_PER_MOL = 1000.0
ML_PER_L = 1000.0


@attrs.frozen(kw_only=True, eq=False)
class Sign:
    """What the draws say of one cause: degrees (N,), and the figure behind them with where it begins to count."""

    degree: Array
    figure: Array
    label: str
    unit: str
    begins: float


def beyond(figure: Array, limit: Row) -> Array:
    """Return the normal probability that a figure lies above a row that is itself known only so far, (N,).

    On the row's own scale: 1/2 at its value, ndtr(1) at value + spread.
    """
    if limit.shape == "lognormal":
        off = np.log(np.maximum(figure, NOTHING)) - np.log(limit.value)
    else:
        off = figure - limit.value
    return np.asarray(ndtr(off / limit.scale()))


def _iron(pot: Asked) -> Array:
    return composition.iron_total(pot.state.liquor) * pot.per_litre * MMOL_PER_MOL


def _capacity(pot: Asked) -> Array:
    held = composition.dry_binding(pot.state.liquor, pot.draws)
    return held.capacity * pot.per_litre * MMOL_PER_MOL


def _ratio(pot: Asked) -> Array:
    held = composition.dry_binding(pot.state.liquor, pot.draws)
    return np.minimum(binding.iron_to_capacity(held.iron, held.capacity), 1 / NOTHING)


def _overlap(pot: Asked) -> Array:
    return pot.state.liquor["gum_coil"] * pot.per_litre * ML_PER_DL / ML_PER_L


def _thick(pot: Asked) -> Array:
    return seen.viscosity(pot.state.liquor, pot.state.temperature, pot.draws)


def _watered(pot: Asked) -> Array:
    """Return how far everything in a pot is thin at once: tannin, iron and thickness."""
    poor = 1.0 - beyond(_iron(pot), row("causes.sign.iron"))
    thin = 1.0 - beyond(_thick(pot), row("causes.sign.thin"))
    return poor * thin


def weak_extract(pot: Asked) -> Sign:
    """Look for little tannin, and not everything else little with it."""
    limit = row("causes.sign.capacity")
    capacity = _capacity(pot)
    degree = (1.0 - beyond(capacity, limit)) * (1.0 - _watered(pot))
    return _sign(degree, capacity, "iron that its tannin can hold", limit)


def too_much_water(pot: Asked) -> Sign:
    """Look for little tannin, little iron and thin, all at once."""
    limit = row("causes.sign.capacity")
    capacity = _capacity(pot)
    degree = (1.0 - beyond(capacity, limit)) * _watered(pot)
    return _sign(degree, _iron(pot), "iron in it", row("causes.sign.iron"))


def too_little_iron(pot: Asked) -> Sign:
    """Look for iron well below what the tannin could hold, and little of it at all."""
    limit, ratio = row("causes.sign.little_iron"), _ratio(pot)
    short = 1.0 - beyond(_iron(pot), row("causes.sign.short_of_iron"))
    return _sign((1.0 - beyond(ratio, limit)) * short, ratio, "iron over what the tannin can hold", limit)


def too_much_iron(pot: Asked) -> Sign:
    """Look for iron above the limit of permanence."""
    limit, ratio = row("permanence.iron_to_capacity.limit"), _ratio(pot)
    return _sign(beyond(ratio, limit), ratio, "iron over what the tannin can hold", limit)


def hard_water(pot: Asked) -> Sign | None:
    """Look for much bicarbonate in the hardest water that went in, and an ink that is the less sour for it."""
    if not pot.waters:
        return None
    hardest = np.max(
        [pot.draws.of(f"liquid:{w}/alkalinity", f"liquids.{w}.alkalinity") for w in pot.waters], axis=0
    )
    limit = row("causes.sign.alkalinity")
    mild = beyond(_acidity(pot), row("causes.sign.hard_ph"))
    return _sign(beyond(hardest, limit) * mild, hardest, "bicarbonate of the water", limit)


def too_little_acid(pot: Asked) -> Sign:
    """Look for a high pH that hard water does not explain."""
    limit, ph = row("causes.sign.too_little_acid"), _acidity(pot)
    water = hard_water(pot)
    left = 1.0 if water is None else 1.0 - water.degree
    return _sign(beyond(ph, limit) * left, ph, "pH", limit)


def too_acid(pot: Asked) -> Sign:
    """Look for a low pH."""
    limit, ph = row("causes.sign.too_acid"), _acidity(pot)
    return _sign(1.0 - beyond(ph, limit), ph, "pH", limit)


def _acidity(pot: Asked) -> Array:
    return seen.acidity(pot.state.liquor, pot.state.temperature, pot.draws)


def too_little_gum(pot: Asked) -> Sign:
    """Look for dissolved gum too thin to matter."""
    limit, overlap = row("causes.sign.little_gum"), _overlap(pot)
    return _sign(1.0 - beyond(overlap, limit), overlap, "overlap of its gum", limit)


def too_much_gum(pot: Asked) -> Sign:
    """Look for an ink thicker than the pen lets through, and gum is what thickens it."""
    limit, thick = row(f"pens.{pot.pen_kind or 'goose-quill'}.flow_high"), _thick(pot)
    gummed = beyond(_overlap(pot), row("causes.sign.little_gum"))
    return _sign(beyond(thick, limit) * gummed, thick, "viscosity", limit)


def greasy_skin(pot: Asked) -> Sign | None:
    """Look for a support that hardly takes ink."""
    thirst = _thirst(pot)
    limit = row("causes.sign.greasy")
    return None if thirst is None else _sign(1.0 - beyond(thirst, limit), thirst, _THIRST, limit)


def absorbent_skin(pot: Asked) -> Sign | None:
    """Look for a support that takes too much."""
    thirst = _thirst(pot)
    limit = row("causes.sign.drinks")
    return None if thirst is None else _sign(beyond(thirst, limit), thirst, _THIRST, limit)


_THIRST = "thirst of the skin against well-prepared goat"


def _thirst(pot: Asked) -> Array | None:
    if not pot.support:
        return None
    return ground.of_thing(pot.support, pot.post.problem.plan.shelf.supports.get(pot.support), pot.draws)


def oxidised_salt(pot: Asked) -> Sign | None:
    """Look for a salt with much iron(III): the worst of those that went in."""
    if not pot.salts:
        return None
    worst = np.max([dissolve.lot_number(pot.draws, lot, m, "ferric") for lot, m in pot.salts], axis=0)
    limit = row("causes.sign.ferric")
    return _sign(beyond(worst, limit), worst, "share of the salt's iron that has turned", limit)


def mould(pot: Asked) -> Sign:
    """Hold the time that mould has had against the time that it takes to show; where somebody saw it, it is there."""
    grown = np.broadcast_to(pot.state.growth, pot.draws.n) / np.maximum(
        spoil.onset(pot.state.liquor, pot.draws), NOTHING
    )
    limit = row("causes.sign.mould")
    degree = beyond(grown, limit)
    if pot.mould_seen:
        degree = np.maximum(degree, 1.0 - value("readings.word_slip"))
    return _sign(degree, grown, "mould's time over what it needs to show", limit)


def cold_ink(pot: Asked) -> Sign:
    """Look for a cold room, or a cold pot."""
    limit, warm = row("causes.sign.cold"), pot.state.temperature - ZERO_CELSIUS
    return _sign(1.0 - beyond(warm, limit), warm, "temperature", limit)


def fresh_ink(pot: Asked) -> Sign | None:
    """Look for a stroke with much of its colour still to come; nothing is known where no stroke is meant."""
    if pot.seconds is None:
        return None
    ready = skin.ready_in_pot(strokes.one_ml(pot.state.liquor, pot.state.temperature), pot.draws)
    left = 1.0 - strokes.progress(pot.seconds, pot.draws, ready)
    limit = row("causes.sign.left")
    return _sign(beyond(left, limit), left, "share of the colour still to come", limit)


def _sign(degree: Array, figure: Array, label: str, limit: Row) -> Sign:
    return Sign(degree=np.nan_to_num(degree), figure=figure, label=label, unit=limit.unit, begins=limit.value)


def nothing_shows(pot: Asked) -> None:
    """Say nothing: no figure of a pot speaks for or against it."""
    del pot


#: Every cause, with what the draws say of it.
CAUSES: Mapping[str, Callable[[Asked], Sign | None]] = MappingProxyType(
    {
        "weak-extract": weak_extract,
        "too-much-water": too_much_water,
        "too-little-iron": too_little_iron,
        "hard-water": hard_water,
        "too-little-gum": too_little_gum,
        "too-much-gum": too_much_gum,
        "greasy-skin": greasy_skin,
        "absorbent-skin": absorbent_skin,
        "too-much-iron": too_much_iron,
        "oxidised-salt": oxidised_salt,
        "too-acid": too_acid,
        "too-little-acid": too_little_acid,
        "mould": mould,
        "cold-ink": cold_ink,
        "fresh-ink": fresh_ink,
        "pen": nothing_shows,
        "something-else": nothing_shows,
    }
)
