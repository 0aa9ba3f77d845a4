"""How likely each reading is, given what it should have been: which sort of evidence a reading is.

Numbers: Student's t about the prediction, its standard deviation the reading's
own error and the model's doubt of itself added in squares. Limits: the tail of that t.
Words: ordered probit between the cuts of the scale. Whose words they are, and
whose eye judged an amount, the prediction knows (`inkhorn.replay.people`).
"""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.estimate.evidence.base import Array, Evidence
from inkhorn.estimate.evidence.bounds import Bound
from inkhorn.estimate.evidence.numbers import Number, scattered
from inkhorn.estimate.evidence.words import comparison, word
from inkhorn.flow import cups
from inkhorn.handbook.load import group, value
from inkhorn.quantities import Quantity
from inkhorn.replay import drops, people, predict
from inkhorn.replay.liquor import NOTHING

__all__ = ["Array", "Bound", "Evidence", "Number", "make_evidence"]

_WORDS = ("body", "surface", "depth", "hue", "flow", "absorbency")
#: Which of the model's own errors, its size learnt, goes with a reading.
_DOUBTS = {"viscosity": "thickness", "optical_density": "channel", "photo": "channel"}
#: What no model explains in one reading, by the handbook.
_BESIDE = {
    "drop_mass": "flow.drop.error",
    "ten_drops": "flow.drop.error",
    "discharge": "flow.discharge.error",
}


def make_evidence(item: Recorded, scene: predict.Scene) -> Evidence:
    """Return a reading as a likelihood."""
    reading = item.entry
    assert isinstance(reading, Reading)  # noqa: S101  (a plan's evidence holds readings only)
    what = str(reading.what)
    if what == "than":
        return comparison(number=item.number, said=(reading.compared or ("same", ""))[0])
    if what in _WORDS:
        return word(number=item.number, scale=what, said=str(reading.value))
    if what == "lab":
        variance = predict.reading_sd(reading) ** 2 + beside(what) ** 2
        return scattered(number=item.number, observed=predict.triple(reading), covariance=np.diag(variance))
    measure = predict.measure_of(item.number, reading, scene.photos)
    if measure is not None:
        return scattered(
            number=item.number,
            observed=measure.density,
            covariance=measure.covariance,
            doubt=_DOUBTS[what],
            cap=value("readings.density_cap"),
        )
    if predict.is_depth(reading):
        reading = attrs.evolve(reading, value=scene.in_ml(reading) or reading.value)
    return _amount(item.number, reading)


def beside(what: str) -> float:
    """Return what the model cannot explain in one reading, beside the reading's own error."""
    if what in _BESIDE:
        return value(_BESIDE[what])
    return value(f"readings.beside.{what}") if what in group("readings.beside") else 0.0


def on_its_scale(what: str, said: Quantity) -> tuple[float, float]:
    """Return a figure and its sd on the scale of its prediction; the teller's lasting bias is not in the sd."""
    if what not in predict.LOGARITHMIC:
        return said.value, said.sd
    # About a figure that is next to nothing an even error says little on a logarithm: it is as broad as the figure.
    spread = said.scale() if said.shape != "normal" else float(np.log1p(said.sd / max(said.value, NOTHING)))
    return float(np.log(max(said.value, NOTHING))), spread * people.own_part(said)


def _amount(number: int, reading: Reading) -> Evidence:
    what, said = str(reading.what), reading.value
    assert isinstance(said, Quantity)  # noqa: S101  (wire.decode has seen to it)
    side, said = _side(reading, said)
    told = [said, *([] if reading.water is None else [reading.water])]
    places = [on_its_scale(what, q) for q in told]
    variance = np.array([max(sd**2 + beside(what) ** 2, 1e-8) for _, sd in places])
    if side:
        return Bound(number=number, limit=places[0][0], sd=float(np.sqrt(variance[0])), side=side)
    return Number(
        number=number,
        observed=np.array([place for place, _ in places]),
        axes=np.eye(len(places)),
        variance=variance,
        doubt=_DOUBTS.get(what),
    )


def _side(reading: Reading, said: Quantity) -> tuple[int, Quantity]:
    """Return on which side of its figure a reading says that the truth lies (0: at it), and the figure.

    "more than 10 mPa s" says so itself; a flow cup that runs out sooner than
    its standard allows says only that the liquid is thinner than it measures.
    """
    if reading.what in predict.LOGARITHMIC and said.value <= 0:
        # Nothing was found: it lies below what could have been.
        return -1, attrs.evolve(said, value=said.sd, shape="lognormal")
    if said.how in ("above", "below"):
        return (1 if said.how == "above" else -1), said
    if reading.what == "discharge" and reading.with_ in drops.CUPS and not cups.in_range(said.value):
        thin = said.value < cups.SHORTEST
        limit = cups.SHORTEST if thin else cups.LONGEST
        relative = said.sd / max(said.value, NOTHING)
        at = attrs.evolve(said, value=float(limit), sd=limit * relative)
        return (-1 if thin else 1), at
    return 0, said
