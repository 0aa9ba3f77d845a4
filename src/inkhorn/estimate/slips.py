"""Which slip of the pen, the eye or the hand would explain a reading that disagrees with all the rest.

Each slip is the same reading with one thing put right. It is named only where
that makes the reading much likelier, on the average of the draws, than as it
was written (`readings.slip_odds`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

import attrs
import numpy as np

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.estimate.evidence.base import Array, Evidence
from inkhorn.estimate.likelihood import make_evidence
from inkhorn.handbook.load import value
from inkhorn.quantities import Quantity
from inkhorn.replay import people
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Plan, play

#: Unit as written, and what may have been meant: its name, and how many times more the figure then is.
# numbers-in-code: ratios of metric units and of minutes to seconds
_UNITS: Mapping[str, tuple[tuple[str, float], ...]] = {
    "g": (("kg", 1e3), ("mg", 1e-3)),
    "kg": (("g", 1e-3),),
    "mg": (("g", 1e3),),
    "ml": (("L", 1e3),),
    "l": (("ml", 1e-3),),
    "g/l": (("mg/L", 1e-3),),
    "mg/l": (("g/L", 1e3),),
    "mm": (("cm", 10.0), ("um", 1e-3)),
    "cm": (("mm", 0.1),),
    "um": (("mm", 1e3),),
    "s": (("min", 60.0),),
    "min": (("s", 1 / 60.0),),
}
_POINT = (10.0, 0.1)
_MIRRORED = ("depth", "hue")
_OPPOSITE = {"darker": "paler", "paler": "darker", "thinner": "thicker", "thicker": "thinner"}
#: Sorts of thing of which one may have been taken for another.
_TAKEN_FOR_ANOTHER = ("vessel", "trial", "lot")


@attrs.frozen(kw_only=True)
class Slip:
    """A slip that would explain a reading, in plain words, and the reading put right."""

    text: str
    entry: Reading


def named(
    item: Recorded, evidence: Evidence, plan: Plan, mu: Array, draws: Draws, others: Mapping[str, Array]
) -> str:
    """Return the likeliest slip in plain words, or "" where none explains the reading.

    Parameters
    ----------
    item : Recorded
        The reading as written, and ``evidence``, what it is to the sampler.
    mu : ndarray, shape (m, N)
        What it should have been.
    others : mapping
        What it should have been had it been read of another thing, by name (see `elsewhere`).
    """
    reading = item.entry
    assert isinstance(reading, Reading)  # noqa: S101  (evidence holds readings only)
    best, text = _height(evidence, mu, draws) + np.log(value("readings.slip_odds")), ""
    for slip in slips(reading):
        right = make_evidence(attrs.evolve(item, entry=slip.entry), plan.scene)
        height = _height(right, mu, draws)
        if height > best and _fits(right, mu):
            best, text = height, slip.text
    for name, there in others.items():
        height = _height(evidence, there, draws)
        if height > best and _fits(evidence, there):
            best, text = height, f"it would fit {name} well: was it read of {name}?"
    return text


def _fits(evidence: Evidence, mu: Array) -> bool:
    """Say whether a reading, put right, would not itself be flagged."""
    return bool(np.isfinite(mu).all()) and evidence.surprise(mu) <= value("readings.outlier")


def _height(evidence: Evidence, mu: Array, draws: Draws) -> float:
    """Return the logarithm of the likelihood averaged over the draws."""
    doubt = value(f"misfit.{evidence.doubt}") if evidence.doubt else 0.0
    each = evidence.log_density(mu, draws, doubt)
    each = each[np.isfinite(each)]
    return float(np.logaddexp.reduce(each) - np.log(len(each))) if len(each) else -np.inf


def slips(reading: Reading) -> Iterator[Slip]:
    """Yield every slip that a reading of its sort may hold."""
    if isinstance(reading.value, Quantity):
        yield from _of_amount(reading, reading.value)
    elif isinstance(reading.value, dict) and reading.what == "optical_density":
        for factor in _POINT:
            moved = {k: v * factor for k, v in reading.value.items()}
            yield Slip(
                text="it would fit if the decimal point stood one place off",
                entry=attrs.evolve(reading, value=moved),
            )
    elif isinstance(reading.value, str):
        yield from _of_word(reading, reading.value)


def _of_amount(reading: Reading, said: Quantity) -> Iterator[Slip]:
    unit = re.sub(r"^.*?[\d.,½¼¾]\s*(?=[^\d\s.,]*\s*$)", "", said.text.strip())
    for meant, factor in _UNITS.get(unit.casefold(), ()):
        yield Slip(
            text=f"it would fit if {unit} was written for {meant}", entry=_times(reading, said, factor)
        )
    if said.dimension == "temperature":
        yield from _degrees(reading, said)
        return
    for factor in _POINT:
        if reading.what == "specific_gravity":
            moved = attrs.evolve(said, value=1.0 + (said.value - 1.0) * factor)
            yield Slip(text=_point(moved), entry=attrs.evolve(reading, value=moved))
        else:
            right = _times(reading, said, factor)
            assert isinstance(right.value, Quantity)  # noqa: S101  (it was made so)
            yield Slip(text=_point(right.value), entry=right)


def _point(meant: Quantity) -> str:
    unit = "" if meant.unit == "1" else f" {meant.unit}"
    return f"it would fit if the decimal point stood one place off ({meant.value:.4g}{unit})"


def _times(reading: Reading, said: Quantity, factor: float) -> Reading:
    """Return a reading with so many times its figure; an error that is a share of the figure stays that share."""
    share = said.shape != "normal"
    moved = attrs.evolve(said, value=said.value * factor, sd=said.sd * factor if share else said.sd)
    return attrs.evolve(reading, value=moved)


def _degrees(reading: Reading, said: Quantity) -> Iterator[Slip]:
    # numbers-in-code: the scale of Fahrenheit by its definition
    per, zero = 1.8, 32.0
    written_f = bool(re.search(r"f\s*$|fahrenheit", said.text.casefold()))
    meant = said.value * per + zero if written_f else (said.value - zero) / per
    text = "it would fit if F was written for C" if written_f else "it would fit if it was read in F, not C"
    yield Slip(text=text, entry=attrs.evolve(reading, value=attrs.evolve(said, value=meant)))


def _of_word(reading: Reading, said: str) -> Iterator[Slip]:
    if reading.what == "than":
        word, other = reading.compared or ("", "")
        if word in _OPPOSITE:
            turned = attrs.evolve(reading, value=f"{_OPPOSITE[word]} {other}")
            yield Slip(text=f"it would fit if {word} and {_OPPOSITE[word]} were swapped", entry=turned)
    elif reading.what in _MIRRORED:
        names = people.words(str(reading.what))
        turned = attrs.evolve(reading, value=names[len(names) - 1 - names.index(said)])
        if turned.value != said:
            yield Slip(text=f"it would fit if {said} and {turned.value} were swapped", entry=turned)


def elsewhere(plan: Plan, items: Sequence[Recorded], draws: Draws) -> dict[int, dict[str, Array]]:
    """Return what readings should have been had they been made of another thing of their sort, at their moment.

    Returns
    -------
    dict
        By number of the reading and name of the other thing: ``(m, N)``, not
        finite where that thing was not there yet.
    """
    asked: list[Recorded] = []
    of: list[tuple[int, str]] = []
    for item in items:
        reading = item.entry
        assert isinstance(reading, Reading)  # noqa: S101  (evidence holds readings only)
        sort, mine = reading.subject
        if sort not in _TAKEN_FOR_ANOTHER:
            continue
        for name in plan.shelf.of(sort):
            if name != mine and name != (reading.compared or ("", ""))[1]:
                moved = attrs.evolve(reading, of=f"{sort}:{name}")
                asked.append(attrs.evolve(item, number=-1 - len(asked), entry=moved))
                of.append((item.number, name))
    out: dict[int, dict[str, Array]] = {item.number: {} for item in items}
    if not asked:
        return out
    # A reading stands after all steps of its own moment, where the original stood.
    places = {e.number: i for i, e in enumerate(plan.entries)}
    order = sorted(
        [*((i, 0, e) for i, e in enumerate(plan.entries)),
         *((places[n], 1, a) for (n, _), a in zip(of, asked, strict=True))],
        key=lambda x: x[:2],
    )  # fmt: skip
    play_of = attrs.evolve(plan, entries=tuple(e for _, _, e in order), evidence=tuple(asked))
    predicted = play(play_of, draws).predicted
    for (number, name), item in zip(of, asked, strict=True):
        out[number][name] = predicted[item.number]
    return out
