"""The estimate as plain typed objects; ``to_dict()`` is the documented JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from inkhorn.estimate.figures import Figure
from inkhorn.estimate.known import Knowledge


@attrs.frozen(kw_only=True)
class VesselEstimate:
    """What one vessel holds; ``withheld`` says why there are no figures, if there are none."""

    figures: Mapping[str, Figure]
    dry_optical_density: Mapping[str, Figure]
    dry_lab: Mapping[str, Figure]
    withheld: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        if self.withheld:
            return {"withheld": self.withheld}
        out: dict[str, Any] = {name: f.to_dict() for name, f in self.figures.items()}
        out["dry_optical_density"] = {k: f.to_dict() for k, f in self.dry_optical_density.items()}
        out["dry_lab"] = {k: f.to_dict() for k, f in self.dry_lab.items()}
        return out


@attrs.frozen(kw_only=True)
class Flag:
    """Something that does not fit, in plain words, with the entry it is about (None for the whole)."""

    entry: int | None
    text: str

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"entry": self.entry, "text": self.text}


@attrs.frozen(kw_only=True)
class Estimate:
    """Everything that the daybook says of the bench, with honest error bars."""

    seed: int
    draws: int
    ess: float
    vessels: Mapping[str, VesselEstimate]
    lots: Mapping[str, Mapping[str, Figure]]
    misfit: Mapping[str, Figure]
    flags: tuple[Flag, ...]
    unknowns: int
    log_evidence: float
    knowledge: Knowledge | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "seed": self.seed,
            "draws": self.draws,
            "ess": round(self.ess, 1),
            "unknowns": self.unknowns,
            "log_evidence": self.log_evidence,
            "vessels": {name: v.to_dict() for name, v in self.vessels.items()},
            "lots": {
                name: {k: f.to_dict() for k, f in figures.items()} for name, figures in self.lots.items()
            },
            "misfit": {name: f.to_dict() for name, f in self.misfit.items()},
            "flags": [f.to_dict() for f in self.flags],
            **({} if self.knowledge is None else self.knowledge.to_dict()),
        }
