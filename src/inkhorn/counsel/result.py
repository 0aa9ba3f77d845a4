"""Counsel as plain typed objects; ``to_dict()`` is the documented JSON."""

from __future__ import annotations

from typing import Any

import attrs

from inkhorn.estimate.figures import Figure


@attrs.frozen(kw_only=True)
class Standing:
    """How a pot does as it is: distance to the page, and the chances that limits are kept."""

    distance: Figure
    flow_ok: float
    permanence_ok: float

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "distance": self.distance.to_dict(),
            "flow_ok": round(self.flow_ok, 4),
            "permanence_ok": round(self.permanence_ok, 4),
        }


@attrs.frozen(kw_only=True)
class Course:
    """One course of action with its expected result.

    Parameters
    ----------
    actions : tuple of dict
        Complete entries without ``at``.
    sentence : str
        What to do, in plain words.
    why : str
        What it does and what it costs.
    density_band : dict
        5-95 % of each channel's density of the next dry strip, which is what
        the strip must land in.
    """

    actions: tuple[dict[str, Any], ...]
    sentence: str
    why: str
    standing: Standing
    density_band: dict[str, Figure]
    cautions: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "actions": [dict(a) for a in self.actions],
            "sentence": self.sentence,
            "why": self.why,
            **self.standing.to_dict(),
            "optical_density": {c: f.to_dict() for c, f in self.density_band.items()},
            "cautions": list(self.cautions),
        }


@attrs.frozen(kw_only=True)
class Check:
    """One quick reading and what it would be worth, in units of CIEDE2000."""

    reading: str
    gain: float
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"reading": self.reading, "gain": round(self.gain, 4), "sentence": self.sentence}


@attrs.frozen(kw_only=True)
class Counsel:
    """What to do with one pot to come to one page."""

    vessel: str
    exemplar: str
    as_: str
    now: Standing
    courses: tuple[Course, ...]
    reachable: float
    check_first: tuple[Check, ...]
    note: str
    tried: int

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "vessel": self.vessel,
            "exemplar": self.exemplar,
            "as": self.as_,
            "now": self.now.to_dict(),
            "courses": [c.to_dict() for c in self.courses],
            "reachable": round(self.reachable, 4),
            "check_first": [c.to_dict() for c in self.check_first],
            "note": self.note,
            "tried": self.tried,
        }
