"""A long, self-consistent daybook: several batches of ink, readings foreseen from one draw of the prior."""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from inkhorn.daybook.book import Recorded, effective
from inkhorn.daybook.wire import decode
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import Plan, make_plan, play

_HOUR = timedelta(hours=1)


def _batch(i: int, at: datetime) -> list[dict[str, Any]]:
    """Return the entries of one batch of ink, about thirty, by-eye amounts among them."""
    tub, pot, lot = f"tub-{i}", f"pot-{i}", ("sumac-leaf", "alder-cones")[i % 2]
    out: list[dict[str, Any]] = []

    def put(hours: float, **entry: Any) -> None:
        nonlocal at
        out.append({"at": at.isoformat(), **entry})
        at += hours * _HOUR

    def read(of: str, what: str, value: Any, **more: Any) -> None:
        put(0.2, kind="reading", of=of, what=what, value=value, **more)

    put(20, kind="steep", lot=lot, amount="about 500 g", liquid="spring water", liquid_amount="about 4 L", into=tub,
        pieces="crushed", **{"for": "18 h"})  # fmt: skip
    put(1, kind="strain", vessel=tub, into=pot)
    read(f"vessel:{pot}", "volume", "3 L")
    put(
        14,
        kind="steep",
        marc_of=tub,
        liquid="spring water",
        liquid_amount="about 2 L",
        into=tub,
        **{"for": "12 h"},
    )
    put(1, kind="strain", vessel=tub, into=pot)
    put(9, kind="reduce", vessel=pot, to="about 900 ml")
    read(f"vessel:{pot}", "volume", "900 ml")
    read(f"vessel:{pot}", "dry_residue", "100 g/L")
    put(1, kind="add", into=pot, lot="vitriol", amount="30 g")
    put(1, kind="add", into=pot, lot="plum-gum", amount="about 12 g")
    read(f"vessel:{pot}", "body", "flows well")
    for k in range(2):
        trial = f"t{i}-{k}"
        put(1, kind="mark", vessel=pot, trial=trial, support="goat-1", method="pen", pen="reed-3mm")
        put(24, kind="remark", text="left to darken")
        read(f"trial:{trial}", "optical_density", {"R": 0.8, "G": 0.8, "B": 0.8}, sd=0.03)
        put(2, kind="add", into=pot, liquid="spring water", amount="about 40 ml")
        put(0.1, kind="remark", text="stirred well")
        put(2, kind="add", into=pot, lot="vitriol", amount="2.00 g")
        put(0.1, kind="warm", vessel=pot, to="30 degC")
        put(1, kind="pour", into=f"jar-{i}", amount="30.0 ml", **{"from": pot})
    read(f"vessel:{pot}", "ph", "3")
    put(30, kind="rest", vessel=pot, covered=True, **{"for": "24 h"})
    read(f"vessel:{pot}", "volume", "700 ml")
    return out


def entries(batches: int) -> list[dict[str, Any]]:
    """Return a daybook of so many batches, its readings still placeholders."""
    at = datetime(2026, 1, 5, 8)  # noqa: DTZ001
    out = [
        {
            "at": at.isoformat(),
            "kind": "gather",
            "lot": lot,
            "material": lot.replace("-", " "),
            "amount": amount,
        }
        for lot, amount in (("sumac-leaf", "9 kg"), ("alder-cones", "9 kg"), ("plum-gum", "about 400 g"))
    ]
    out.append(
        {
            "at": at.isoformat(),
            "kind": "gather",
            "lot": "vitriol",
            "material": "bought green vitriol",
            "amount": "2 kg",
        }
    )
    for i in range(batches):
        out += _batch(i, at + (1 + 8 * i) * timedelta(days=1))
    return out


def recorded(raws: list[dict[str, Any]]) -> tuple[Recorded, ...]:
    """Return entries as a store would give them back, effective."""
    when = datetime(2026, 9, 30, tzinfo=UTC)
    return effective(
        [Recorded(number=i, entry=decode(r), raw=r, recorded_at=when) for i, r in enumerate(raws, start=1)]
    )


def long_plan(batches: int, *, seed: int = 1) -> Plan:
    """Return a plan whose readings are what one draw of the prior foresees, with their own errors."""
    raws = entries(batches)
    plan = make_plan(recorded(raws))
    z = np.array([standard_normal(seed, name, 1) for name in plan.unknowns])
    seen = play(plan, Draws(plan.unknowns, z)).predicted
    rng = np.random.default_rng(seed)
    for number, mu in seen.items():
        raw = raws[number - 1]
        raw["value"] = _said(raw["what"], mu[:, 0], rng)
    return make_plan(recorded(raws))


def _said(what: str, mu: np.ndarray, rng: np.random.Generator) -> Any:
    if what == "optical_density":
        return {c: round(float(m + 0.03 * rng.standard_normal()), 3) for c, m in zip("RGB", mu, strict=True)}
    if what == "body":
        words = ("watery", "thin", "flows well", "thick", "drags")
        return words[int(np.searchsorted(np.log([1.4, 2.0, 5.0, 10.0]), mu[0]))]
    if what == "ph":
        return f"{mu[0] + 0.3 * rng.standard_normal():.1f}"
    unit = {"volume": "ml", "dry_residue": "g/L"}[what]
    return f"{np.exp(mu[0] + 0.03 * rng.standard_normal()):.0f} {unit}"
