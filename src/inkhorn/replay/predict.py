"""What each reading should have been, if the draws were true.

Every prediction is given on the scale on which its error is even: the natural
logarithm for amounts, volumes and thicknesses (`LOGARITHMIC`), plain for the
rest. Words are predicted as the place on their scale where this person would
look for one.
"""

from __future__ import annotations

import numpy as np

from inkhorn.daybook.entries import Reading
from inkhorn.replay import of_lot, of_trial, of_vessel, people
from inkhorn.replay.draws import Draws
from inkhorn.replay.ground import uptake
from inkhorn.replay.liquor import Array
from inkhorn.replay.of_trial import goal_of
from inkhorn.replay.quiet import settle
from inkhorn.replay.scene import Scene, is_depth, measure_of, reading_sd, triple, usual_ground
from inkhorn.replay.world import VesselState, World

__all__ = [
    "LOGARITHMIC",
    "Scene",
    "goal_of",
    "is_depth",
    "is_evidence",
    "measure_of",
    "predict",
    "reading_sd",
    "triple",
]

ML_PER_L = 1000.0
MMOL_PER_MOL = 1000.0
#: Readings that are predicted, and erred about, on the natural logarithm.
LOGARITHMIC = frozenset(
    {
        "mass", "volume", "dry_residue", "viscosity", "total_iron", "total_phenols", "gum",
        "drop_mass", "ten_drops", "discharge", "line_width", "raggedness",
    }
)  # fmt: skip
#: Facts of a support or an exemplar: what is predicted rests on them, so they are not held against a prediction.
FACTS = ("support", "exemplar", "card")


def is_evidence(reading: Reading, scene: Scene) -> bool:
    """Say whether a reading can be held against a prediction."""
    kind, name = reading.subject
    if is_depth(reading) and scene.in_ml(reading) is None:
        return False
    if kind == "vessel":
        return reading.what in of_vessel.OF_LIQUOR
    if kind == "lot":
        return of_lot.is_foreseen(reading, scene.lots.get(name, ""))
    if kind == "trial":
        return of_trial.is_foreseen(reading, scene)
    return kind == "support" and reading.what == "absorbency"


def is_fact(reading: Reading) -> bool:
    """Say whether a reading is taken as it stands: the colour or the side of a support, an exemplar's looks."""
    return reading.subject[0] in FACTS and reading.what != "absorbency"


def why_idle(reading: Reading, scene: Scene) -> str:
    """Return in plain words why a reading teaches the estimate nothing."""
    kind, name = reading.subject
    if is_depth(reading):
        return f"a depth is a volume only where capacity and inner depth of {name} are declared"
    if kind == "lot":
        return of_lot.why_not(reading, scene.lots.get(name, ""))
    if reading.what == "photo":
        return (
            "its picture cannot be read any more, or shows no ink that can be measured; photograph it again"
        )
    if reading.what in ("depth", "hue"):
        return "nothing was measured yet of the exemplar that it is said against"
    return "nothing is foreseen of it"


def predict(reading: Reading, world: World, scene: Scene, draws: Draws) -> tuple[World, Array]:
    """Return the bench, settled where it was looked at, and the prediction, (m, N)."""
    kind, name = reading.subject
    if kind == "vessel":
        world = settle(name, world, world.now, draws)
        return world, of_state(reading, world.vessels.get(name), draws)
    if kind == "lot":
        return world, of_lot.foreseen(reading, name, world.lots[name], draws)
    if kind == "support":
        there = usual_ground(scene, name)
        thirst = np.log(uptake(there.name, there.kind, there.side, draws))
        return world, people.heard("absorbency", reading.who, thirst, draws)[None, :]
    return world, of_trial.foreseen(reading, name, world, scene, draws)


def of_state(reading: Reading, state: VesselState | None, draws: Draws) -> Array:
    """Return the prediction of a reading of a vessel in a given state, (m, N); not a number where it is withheld."""
    if state is None or state.withheld:
        rows = 1 if reading.water is None else 2
        return np.full((rows, draws.n), np.nan)
    return of_vessel.foreseen(reading, state, draws)
