"""Draws of the unknowns, and how the unknowns of a daybook are found.

A step never declares its unknowns: it asks for them by name while it runs.
One pass with a `Scout` (one draw, every unknown at its median) therefore finds
them all; the passes that follow answer the same questions from a matrix of
standard-normal numbers, one row an unknown. The number that drives an unknown
depends on the seed and the unknown's name alone, so neither the order of
entries nor an unrelated entry changes it.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import attrs
import numpy as np

from inkhorn.handbook.load import row, value
from inkhorn.handbook.rows import Row, Shape
from inkhorn.handbook.tails import Tail
from inkhorn.quantities import Quantity
from inkhorn.replay.liquor import Array

T = TypeVar("T")

#: Quantities surer than this are taken as exact: a kitchen scale reads within
#: one part in a hundred, far inside every other spread of the bench.
NEGLIGIBLE_SPREAD = 1e-2
#: The row of an unknown that is a bare standard-normal number.
STANDARD = "misfit.unit"


@attrs.frozen
class Unknown:
    """A number nobody wrote down, with what was believed before the daybook.

    Parameters
    ----------
    name : str
        For instance ``lot:sumac-leaf/tannin`` or ``entry:7/amount``.
    prior : Row
        Its handbook row, or a row made from a quantity judged by eye.
    common : str
        Name of a standard-normal unknown that it has part of its variance in
        common with (its source's, its maker's); "" for none.
    share : float
        How much of its variance that is, 0 to 1. What it is expected to be,
        and how surely, is the same with and without.
    tail : Tail or None
        How its own part is now and then far wider.
    """

    name: str
    prior: Row
    common: str = ""
    share: float = 0.0
    tail: Tail | None = None

    def own_scale(self) -> float:
        """Return the usual standard deviation of its own part, on the scale that it acts on."""
        return self.prior.scale() * math.sqrt(1.0 - self.share)

    def at(self, places: Array) -> Array:
        """Return what it is at standard-normal places of its whole prior, its tail and what it shares included."""
        if self.tail is not None:
            places = self.tail.with_common(places, self.own_scale(), self.share)
        return self.prior.at(places)


def standard_normal(seed: int, name: str, n: int) -> Array:
    """Return ``n`` standard-normal numbers keyed by seed and name, shape (n,)."""
    digest = hashlib.blake2b(f"{seed}\x1f{name}".encode(), digest_size=16).digest()
    rng = np.random.Generator(np.random.PCG64(int.from_bytes(digest, "little")))
    return rng.standard_normal(n)


def quantity_row(name: str, quantity: Quantity) -> Row:
    """Return the prior that a quantity judged by eye amounts to."""
    shape: Shape = "normal" if quantity.shape == "normal" else "lognormal"
    return Row(
        name=name,
        what=quantity.text,
        value=quantity.value,
        unit=quantity.unit,
        spread=quantity.sd,
        shape=shape,
        mark="common practice",
        source="",
    )


def slips(quantity: Quantity) -> Tail | None:
    """Return how far off an amount is where what was written is not what was done; None for what is not measured out."""
    if quantity.shape == "normal" or quantity.dimension not in ("mass", "volume", "fraction"):
        return None
    return Tail(share=value("readings.amount_slip.share"), size=value("readings.amount_slip.size"))


class Draws:
    """Values of the unknowns for ``n`` draws, asked for by name.

    Parameters
    ----------
    unknowns : mapping of str to Unknown
        In the order of the rows of ``z``.
    z : ndarray, shape (D, N)
        Standard-normal numbers.
    fixed_amounts : mapping, optional
        ``(entry number, key)`` to ``(N,)``: amounts given from outside, as
        counsel does for the courses it tries.
    """

    def __init__(
        self,
        unknowns: Mapping[str, Unknown],
        z: Array,
        fixed_amounts: Mapping[tuple[int, str], Array] | None = None,
    ) -> None:
        self._unknowns = unknowns
        self._rows = {name: i for i, name in enumerate(unknowns)}
        self._z = z
        self._values: dict[str, Array] = {}
        self._fixed = dict(fixed_amounts or {})
        self._made: dict[str, Any] = {}
        self.n = int(z.shape[1])

    def of(self, name: str, prior: str | Row, tail: Tail | None = None) -> Array:
        """Return the draws of one unknown, shape (N,).

        Its ``tail`` is noted by the scout. An unknown that the scout did not meet (a lot that counsel would open)
        is taken at its prior median.
        """
        del tail
        got = self._values.get(name)
        if got is None:
            known = self._unknowns.get(name)
            if known is None:
                centre = (row(prior) if isinstance(prior, str) else prior).value
                got = np.full(self.n, centre)
            else:
                got = known.prior.at(self._place(known))
            self._values[name] = got
        return got

    def _place(self, known: Unknown) -> Array:
        """Return the standard-normal numbers of an unknown, its own mixed with those that it shares, (N,)."""
        own: Array = self._z[self._rows[known.name]]
        if known.tail is not None:
            own = known.tail.reach(own, known.own_scale())
        if not known.common:
            return own
        common = self._z[self._rows[known.common]]
        return np.asarray(math.sqrt(known.share) * common + math.sqrt(1.0 - known.share) * own)

    def amount(self, number: int, key: str, quantity: Quantity) -> Array:
        """Return the draws of a quantity of an entry, shape (N,), in its unit."""
        given = self._fixed.get((number, key))
        if given is not None:
            return given
        if is_sure(quantity):
            return np.full(self.n, quantity.value)
        name = f"entry:{number}/{key}"
        got = self._values.get(name)
        return self.of(name, quantity_row(name, quantity), slips(quantity)) if got is None else got

    def once(self, key: str, make: Callable[[], T]) -> T:
        """Return what ``make`` gives, made the first time it is asked for and kept with these draws."""
        if key not in self._made:
            self._made[key] = make()
        made: T = self._made[key]
        return made

    def note(self, name: str, reckoned: Array) -> None:
        """Keep what the replay itself reckoned under the name of an unknown that needs no guessing then."""
        self._values[name] = reckoned

    def full(self, number: float) -> Array:
        """Return one number for every draw."""
        return np.full(self.n, number)


class Scout(Draws):
    """One draw at every median, which notes each unknown that is asked for.

    Parameters
    ----------
    kin : callable, optional
        What an unknown of a given name has in common with others, and how much
        of its variance that is (see `inkhorn.replay.kin`).
    """

    def __init__(self, kin: Callable[[str], tuple[str, float]] | None = None) -> None:
        super().__init__({}, np.zeros((0, 1)))
        self.met: dict[str, Unknown] = {}
        self._kin = kin

    def of(self, name: str, prior: str | Row, tail: Tail | None = None) -> Array:
        """Note the unknown, with what it shares, and return its prior median."""
        prior_row = row(prior) if isinstance(prior, str) else prior
        if prior_row.spread > 0 and name not in self.met:
            common, share = self._kin(name) if self._kin is not None else ("", 0.0)
            if common:
                self.met.setdefault(common, Unknown(common, row(STANDARD)))
            self.met[name] = Unknown(name, prior_row, common, share, tail)
        return np.full(1, prior_row.value)


def is_sure(quantity: Quantity) -> bool:
    """Say whether a quantity is so sure that it is taken as exact."""
    if quantity.how == "exact" or quantity.sd == 0:
        return True
    return quantity.shape != "normal" and quantity.sd <= NEGLIGIBLE_SPREAD * abs(quantity.value)
