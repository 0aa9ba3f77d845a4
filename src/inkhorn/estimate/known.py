"""What the readings taught and what they did not, as plain typed objects; ``to_dict()`` is the documented JSON."""

from __future__ import annotations

from typing import Any

import attrs

from inkhorn.estimate.figures import Figure
from inkhorn.handbook.load import value
from inkhorn.handbook.rows import Shape


@attrs.frozen(kw_only=True)
class Band:
    """A median with its 90 % band."""

    median: float
    p05: float
    p95: float

    def to_dict(self) -> dict[str, float]:
        """Return the JSON form."""
        return {"median": self.median, "p05": self.p05, "p95": self.p95}


@attrs.frozen(kw_only=True)
class Mattered:
    """The figure that a reading changed most: whose, which, and its band without and with the reading."""

    of: str
    figure: str
    bits: float
    unit: str
    without: Band
    now: Band

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        bands = {"without": self.without.to_dict(), "with": self.now.to_dict()}
        return {"of": self.of, "figure": self.figure, "bits": self.bits, "unit": self.unit, **bands}


@attrs.frozen(kw_only=True)
class Taught:
    """What one reading taught.

    Parameters
    ----------
    entry : int
        Number of the reading.
    bits : float
        Information gained; where not ``sure``, at least so much.
    error : float
        Monte Carlo error of it, bits.
    sure : bool
        Whether the weights can be trusted; ``shape`` is that of their tail.
    most : Mattered or None
        For which figure it mattered most; None where no figure changed.
    """

    entry: int
    bits: float
    error: float
    sure: bool
    shape: float
    most: Mattered | None

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        most = None if self.most is None else self.most.to_dict()
        head = {"entry": self.entry, "bits": self.bits, "error": self.error, "sure": self.sure}
        return {**head, "shape": self.shape, "most": most}


@attrs.frozen(kw_only=True)
class Learnt:
    """One unknown before and after the readings.

    Parameters
    ----------
    unknown : str
        Its name, for instance ``lot:sumac-leaf/tannin``.
    bits : float
        Kullback-Leibler divergence of the posterior from the prior, both taken
        as normal on the unknown's own scale.
    left : float
        Share of the prior's variance that is left, on that scale; above one
        where a surprise made it less sure.
    shape : str
        That scale: normal, lognormal or logitnormal.
    """

    unknown: str
    bits: float
    left: float
    shape: Shape
    prior: Figure
    posterior: Figure

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "unknown": self.unknown,
            "bits": self.bits,
            "variance_left": self.left,
            "shape": self.shape,
            "prior": self.prior.to_dict(),
            "posterior": self.posterior.to_dict(),
        }


@attrs.frozen(kw_only=True)
class Lacking:
    """One figure that is not known well enough.

    Parameters
    ----------
    of, figure : str
        Whose (a vessel or lot), and which.
    times : float
        How many times wider its band is than a decision needs.
    left : float
        Share of its prior variance that is left (squared ratio of 90 % bands,
        on the same scale as ``times``); none of it was learnt at 1.
    because : str
        The unknown that most of what is left hangs on; "" where no single one does.
    share : float
        How much of the spread that unknown explains.
    """

    of: str
    figure: str
    times: float
    left: float
    because: str
    share: float
    value: Figure

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "of": self.of,
            "figure": self.figure,
            "times_too_wide": self.times,
            "variance_left": self.left,
            "because": self.because or None,
            "share": self.share,
            "value": self.value.to_dict(),
        }


@attrs.frozen(kw_only=True)
class Knowledge:
    """What the readings taught, and what they did not."""

    taught: tuple[Taught, ...]
    learnt: tuple[Learnt, ...]
    least_known: tuple[Lacking, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form; unknowns that learnt nothing worth telling are left out."""
        worth = value("knowing.told")
        return {
            "taught": [item.to_dict() for item in self.taught],
            "learnt": [item.to_dict() for item in self.learnt if item.bits >= worth],
            "least_known": [item.to_dict() for item in self.least_known],
        }
