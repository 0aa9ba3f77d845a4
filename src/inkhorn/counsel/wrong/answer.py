"""What is wrong, as plain typed objects; ``to_dict()`` is the documented JSON."""

from __future__ import annotations

from typing import Any

import attrs

from inkhorn.counsel.wrong.checks import Found
from inkhorn.estimate.figures import Figure


@attrs.frozen(kw_only=True)
class Cause:
    """One cause and how likely it is.

    Parameters
    ----------
    probability : Figure
        Over the doubt of the handbook's rows; ``chance`` is its mean.
    lift : float or None
        By how much what is known of the pot raised it (above 1) or lowered it;
        None where the pot's figures do not speak of it.
    because : str
        The figure that did, in words.
    """

    key: str
    words: str
    chance: float
    probability: Figure
    lift: float | None
    because: str

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "cause": self.key,
            "words": self.words,
            "chance": round(self.chance, 4),
            "probability": self.probability.to_dict(),
            "lift": self.lift,
            "because": self.because or None,
        }


@attrs.frozen(kw_only=True)
class Branch:
    """One outcome of a check: how likely it is, and which cause is then the likeliest, how likely."""

    outcome: str
    means: str
    chance: float
    cause: str
    then: float

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "outcome": self.outcome,
            "means": self.means,
            "chance": round(self.chance, 4),
            "cause": self.cause,
            "then": round(self.then, 4),
        }


@attrs.frozen(kw_only=True)
class Advised:
    """The one check that is expected to tell most, with what each outcome would mean."""

    key: str
    bits: float
    sentence: str
    outcomes: tuple[Branch, ...]
    cautions: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "check": self.key,
            "bits": round(self.bits, 4),
            "sentence": self.sentence,
            "outcomes": [o.to_dict() for o in self.outcomes],
            "cautions": list(self.cautions),
        }


@attrs.frozen(kw_only=True)
class Why:
    """Causes of a complaint, the likeliest first, and the check that tells them apart."""

    complaint: str
    said: str
    vessel: str | None
    trial: str | None
    basis: str
    note: str
    sentence: str
    causes: tuple[Cause, ...]
    check: Advised | None
    found: tuple[Found, ...]
    cautions: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "complaint": self.complaint,
            "said": self.said,
            "vessel": self.vessel,
            "trial": self.trial,
            "basis": self.basis,
            "note": self.note,
            "sentence": self.sentence,
            "causes": [c.to_dict() for c in self.causes],
            "check": None if self.check is None else self.check.to_dict(),
            "found": [{"check": f.check, "outcome": f.outcome} for f in self.found],
            "cautions": list(self.cautions),
        }
