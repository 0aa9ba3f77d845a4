"""A day's adjustment as plain typed objects; ``to_dict()`` is the documented JSON."""

from __future__ import annotations

from typing import Any

import attrs

from inkhorn.estimate.figures import Figure


@attrs.frozen(kw_only=True)
class Likeness:
    """How an ink stands beside the one it should be like.

    Parameters
    ----------
    distance : Figure
        CIEDE2000 between dry strokes.
    thickness : Figure
        Viscosity as it would be written with, over that of the other when it was.
    flow_ok : float
        Chance that it flows as its pen wants.
    """

    distance: Figure
    thickness: Figure
    flow_ok: float

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "distance": self.distance.to_dict(),
            "thickness": self.thickness.to_dict(),
            "flow_ok": round(self.flow_ok, 4),
        }


@attrs.frozen(kw_only=True)
class Adjustment:
    """What to do this morning, as entries without ``at``, and what it comes to."""

    actions: tuple[dict[str, Any], ...]
    after: Likeness
    cautions: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "actions": [dict(a) for a in self.actions],
            **self.after.to_dict(),
            "cautions": list(self.cautions),
        }


@attrs.frozen(kw_only=True)
class Hint:
    """What is common practice where the pen is off and not the ink."""

    what: str
    sentence: str
    mark: str

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"what": self.what, "sentence": self.sentence, "mark": self.mark}


@attrs.frozen(kw_only=True)
class Today:
    """What brings an ink back to what it was.

    Parameters
    ----------
    evaporated : Figure or None
        ml of water gone since; None where something was put in or taken out since then.
    adjustment : Adjustment or None
        None: leave it.
    sentence : str
        What to do, in one sentence with its band.
    """

    vessel: str
    like: str
    temperature: Figure
    evaporated: Figure | None
    now: Likeness
    adjustment: Adjustment | None
    sentence: str
    hints: tuple[Hint, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "vessel": self.vessel,
            "like": self.like,
            "temperature": self.temperature.to_dict(),
            "evaporated": None if self.evaporated is None else self.evaporated.to_dict(),
            "now": self.now.to_dict(),
            "adjustment": None if self.adjustment is None else self.adjustment.to_dict(),
            "sentence": self.sentence,
            "hints": [h.to_dict() for h in self.hints],
        }

    def text(self) -> str:
        """Return the answer in plain words, cautions and hints beneath it."""
        cautions = () if self.adjustment is None else self.adjustment.cautions
        return "\n".join(
            [self.sentence, *(f"Take care: {c}" for c in cautions), *(h.sentence for h in self.hints)]
        )
