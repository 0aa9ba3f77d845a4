"""Simulation-based calibration with every sort of reading at once: truths drawn from the prior are ranked evenly.

S. Talts and others, Validating Bayesian inference algorithms with simulation-based
calibration, 2018: where truth and readings come from the model itself, the rank of
the truth among the posterior draws is uniform.
"""

from __future__ import annotations

import math
from typing import Any

import attrs
import numpy as np
import pytest

from inkhorn.estimate import smc
from inkhorn.estimate.problem import Problem, make_problem
from inkhorn.handbook.load import row
from inkhorn.replay import composition
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Played, make_plan
from support.calibrated import told
from support.daybooks import recorded

BENCH: list[dict[str, Any]] = [
    {"at": "2026-08-20T10:00", "kind": "gather", "lot": "sumac-leaf", "material": "sumac leaf", "amount": "about 900 g"},
    {"at": "2026-09-01T08:05", "kind": "steep", "lot": "sumac-leaf", "amount": "200 g", "liquid": "rainwater", "liquid_amount": "about 2 L", "into": "tub", "for": "12 h", "pieces": "crushed"},
    {"at": "2026-09-02T08:00", "kind": "strain", "vessel": "tub", "into": "pot"},
    {"at": "2026-09-02T08:20", "kind": "add", "into": "pot", "lot": "vitriol", "amount": "about 20 g"},
    {"at": "2026-09-02T08:30", "kind": "add", "into": "pot", "lot": "gum-arabic", "amount": "about 30 g"},
    {"at": "2026-09-02T08:40", "kind": "mark", "vessel": "pot", "trial": "t1", "support": "goat-parchment", "method": "line", "pen": "reed-2mm"},
    {"at": "2026-09-02T08:50", "kind": "add", "into": "pot", "liquid": "water", "amount": "about 400 ml"},
    {"at": "2026-09-02T09:00", "kind": "mark", "vessel": "pot", "trial": "t2", "support": "goat-parchment", "method": "line", "pen": "reed-2mm"},
    {"at": "2026-09-04T08:00", "kind": "reading", "of": "exemplar:page", "what": "optical_density", "value": {"R": 0.7, "G": 0.72, "B": 0.7}, "sd": 0.02},
]  # fmt: skip
#: Each sort of reading with a figure of the size that this bench gives, for the error that its instrument has there.
READINGS: list[tuple[str, str, Any, dict[str, Any]]] = [
    ("vessel:pot", "mass", "2 kg", {}),
    ("vessel:pot", "volume", "about 2 L", {"who": "anna"}),
    ("vessel:pot", "temperature", "18 degC", {}),
    ("vessel:pot", "ph", "2.8", {}),
    ("vessel:pot", "specific_gravity", "1.02", {}),
    ("vessel:pot", "barkometer", "20", {}),
    ("vessel:pot", "brix", "5", {}),
    ("vessel:pot", "dry_residue", "45 g/L", {}),
    ("vessel:pot", "viscosity", "1.4 mPa s", {}),
    ("vessel:pot", "ten_drops", "0.42 g", {"water": "0.48 g"}),
    ("vessel:pot", "discharge", "55 s", {"with": "syringe", "water": "40 s"}),
    ("vessel:pot", "total_iron", "35 mmol/L", {}),
    ("vessel:pot", "total_phenols", "12 g/L", {}),
    ("vessel:pot", "gum", "13 g/L", {}),
    ("vessel:pot", "body", "thin", {"who": "anna"}),
    ("vessel:pot", "surface", "clear", {"who": "anna"}),
    ("lot:sumac-leaf", "total_phenols", "20 %", {}),
    ("trial:t1", "optical_density", {"R": 0.5, "G": 0.5, "B": 0.5}, {"sd": 0.03}),
    ("trial:t2", "lab", {"L": 50.0, "a": 1.0, "b": 3.0}, {"sd": 1.5}),
    ("trial:t1", "line_width", "2.1 mm", {"with": "loupe"}),
    ("trial:t1", "raggedness", "0.05 mm", {"with": "loupe"}),
    ("trial:t1", "depth", "right", {"who": "anna"}),
    ("trial:t1", "hue", "right", {"who": "anna"}),
    ("trial:t1", "flow", "wet", {"who": "anna"}),
    ("trial:t2", "than", "paler t1", {}),
    ("support:goat-parchment", "absorbency", "takes", {"who": "anna"}),
]
RUNS = 40


def everything() -> Problem:
    """Return the bench with every reading; what was read is drawn anew in each run."""
    at = {"at": "2026-09-04T10:00", "kind": "reading"}
    read = [{**at, "of": of, "what": what, "value": said, **more} for of, what, said, more in READINGS]
    return make_problem(make_plan(recorded([*BENCH, *read])))


def looked_at(played: Played, draws: Draws) -> dict[str, np.ndarray]:
    """Return what is ranked: the pot's content, a skin, a device, a person."""
    pot = played.world.vessels["pot"]
    return {
        "volume": composition.volume(pot.liquor, pot.temperature),
        "iron": composition.iron_total(pot.liquor),
        "gum": pot.liquor["gum"],
        "plant": composition.plant_solids(pot.liquor),
        "thirst": draws.of("support:goat-parchment/uptake", "supports.goat-parchment.uptake"),
        "tip": draws.of("tip:dropper/radius", "flow.drop.tip_radius"),
        "syringe": draws.of("device:syringe/water", "flow.discharge.water"),
        "anna": draws.of("who:anna/body.shift", "misfit.unit"),
    }


@pytest.mark.benchmark
def test_truths_are_ranked_evenly(capsys: pytest.CaptureFixture[str]) -> None:
    """Over forty truths with every reading at once, ranks have the mean and the middle shares of a uniform."""
    base, ranks = everything(), {}
    for run in range(RUNS):
        rng = np.random.default_rng(run)
        played, draws = base.played(rng.standard_normal((len(base.unknowns), 1)))
        sizes = {d: float(row(f"misfit.{d}").at(rng.standard_normal(1))[0]) for d in base.doubts}
        seen = tuple(told(i, played.predicted[i.number][:, 0], sizes, rng) for i in base.evidence)
        problem = attrs.evolve(base, evidence=seen)
        got = smc.sample(problem, problem.prior(run, 256), rng)
        true, post = looked_at(played, draws), looked_at(*problem.played(got.z))
        for name, draws_ in post.items():
            ranks.setdefault(name, []).append(float(np.mean(draws_ < true[name])))
    error = math.sqrt(1 / 12 / RUNS)
    with capsys.disabled():
        print(f"\n{len(base.evidence)} readings, {len(base.unknowns)} unknowns, {RUNS} truths")  # noqa: T201
        for name, found in ranks.items():
            rank = np.array(found)
            inside = [np.mean(np.abs(rank - 0.5) < half) for half in (0.45, 0.25)]
            text = f"{name:8s} mean rank {rank.mean():.2f}, inside 90 % {inside[0]:.2f}, 50 % {inside[1]:.2f}"
            print(text)  # noqa: T201
    for found in ranks.values():
        rank = np.array(found)
        assert abs(rank.mean() - 0.5) < 4 * error
        assert np.mean(np.abs(rank - 0.5) < 0.45) > 0.9 - 4 * math.sqrt(0.9 * 0.1 / RUNS)
