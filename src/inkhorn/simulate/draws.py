"""Every number of an invented truth, drawn once from its seed and the number's own name."""

from __future__ import annotations

import math
import zlib

import attrs
import numpy as np

from inkhorn.errors import HandbookError
from inkhorn.handbook.load import group, row, rows
from inkhorn.handbook.rows import Row


@attrs.define(kw_only=True)
class Draws:
    """Draw rows of the table ``simulate`` (and widened handbook rows) reproducibly.

    The stream of a draw is keyed by the seed and the draw's own name, so that
    asking in another order, or for something more, changes nothing.

    Parameters
    ----------
    seed : int
        Which workshop.
    variant : str
        Name of a group ``simulate.variant.NAME`` whose rows take precedence, or ``"default"``.
    """

    seed: int
    variant: str = "default"
    _kept: dict[tuple[str, str], float] = attrs.field(factory=dict, repr=False)

    def __attrs_post_init__(self) -> None:
        known = group("simulate.variant")
        if self.variant != "default" and self.variant not in known:
            mend = f"Known variants: default, {', '.join(known)}"
            raise HandbookError(f"there is no variant {self.variant!r}", where="simulate", mend=mend)

    def __call__(self, name: str, key: str = "") -> float:
        """Return the truth's value of one row, drawn anew for each ``key``."""
        if (name, key) not in self._kept:
            self._kept[name, key] = float(self.row(name).at(np.asarray(self.normal(name, key))))
        return self._kept[name, key]

    def row(self, name: str) -> Row:
        """Return the row itself, the variant's where it has one."""
        own = f"simulate.variant.{self.variant}.{name}"
        return rows()[own] if own in rows() else row(f"simulate.{name}")

    def rng(self, name: str, key: str = "") -> np.random.Generator:
        """Return a generator of its own for one name and key."""
        return np.random.default_rng([self.seed, zlib.crc32(name.encode()), zlib.crc32(key.encode())])

    def normal(self, name: str, key: str = "") -> float:
        """Return one standard-normal number for one name and key."""
        return float(self.rng(name, key).standard_normal())

    def widened(self, name: str, key: str) -> float:
        """Return a draw of a handbook row with the truth's wider spread."""
        z = self.normal(f"handbook {name}", key) * self("lot.widen")
        return float(row(name).at(np.asarray(z)))

    def jitter(self, sd_name: str, key: str) -> float:
        """Return a lognormal factor around one whose ln-sd is the named row."""
        return math.exp(self(sd_name) * self.normal(f"jitter {sd_name}", key))
