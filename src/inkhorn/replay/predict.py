"""What each reading should have been, if the draws were true.

Every prediction is given on the scale on which its error is even: the natural
logarithm for amounts, volumes and thicknesses, plain for pH and densities.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import attrs
import numpy as np

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.daybook.entries import Reading
from inkhorn.errors import EstimateError
from inkhorn.handbook.load import value
from inkhorn.replay import composition, seen, strokes, target
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import NOTHING, Array
from inkhorn.replay.quiet import settle
from inkhorn.replay.steps.dispatch import ZERO_CELSIUS
from inkhorn.replay.target import PhotoMeasure, Target
from inkhorn.replay.world import TrialState, VesselState, World

ML_PER_L = 1000.0
MMOL_PER_MOL = 1000.0


@attrs.frozen(kw_only=True, eq=False)
class Scene:
    """What predictions need beside the bench: supports, exemplars, pictures."""

    support_labs: Mapping[str, Array]
    supports: Mapping[str, Array]
    pens: Mapping[str, str]
    targets: Mapping[str, Target]
    photos: Mapping[int, PhotoMeasure]


def _log(x: Array) -> Array:
    return np.log(np.maximum(x, NOTHING))


def _per_litre(amount: Array, state: VesselState) -> Array:
    return composition.molarity(amount, state.liquor, state.temperature)


def _phenols(state: VesselState, _: Draws) -> Array:
    """Return the logarithm of total phenols, g/L as gallic acid, by groups."""
    liquor = state.liquor
    groups = (
        liquor["gallotannin"] * value("binding.groups.gallotannin")
        + liquor["gallic"] * value("binding.groups.gallic")
        + liquor["ellagitannin"] * value("binding.groups.ellagitannin")
        + liquor["condensed"] * value("binding.groups.condensed")
        + liquor["complex_pyrogallol"]
        + liquor["complex_catechol"]
    )
    return _log(_per_litre(groups, state) * molar_mass("C7H6O5"))


OF_VESSEL: Mapping[str, Callable[[VesselState, Draws], Array]] = {
    "mass": lambda s, _: _log(composition.mass(s.liquor)),
    "volume": lambda s, _: _log(composition.volume(s.liquor, s.temperature)),
    "ph": lambda s, d: seen.acidity(s.liquor, s.temperature, d),
    "specific_gravity": lambda s, d: seen.specific_gravity(s.liquor, s.temperature, d),
    "dry_residue": lambda s, d: _log(_per_litre(seen.dry_residue(s.liquor, d), s)),
    "viscosity": lambda s, d: _log(seen.viscosity(s.liquor, s.temperature, d)),
    "body": lambda s, d: _log(seen.viscosity(s.liquor, s.temperature, d)),
    "total_iron": lambda s, _: _log(_per_litre(composition.iron_total(s.liquor), s) * MMOL_PER_MOL),
    "total_phenols": _phenols,
    "gum": lambda s, _: _log(_per_litre(s.liquor["gum"] + s.liquor["gel"], s)),
}
OF_LOT = ("mass",)
OF_TRIAL = ("optical_density", "photo", "depth", "hue", "flow", "than")


def is_evidence(reading: Reading, scene: Scene) -> bool:
    """Say whether a reading can be held against a prediction."""
    kind, _ = reading.subject
    if kind == "vessel":
        return reading.what in OF_VESSEL
    if kind == "lot":
        return reading.what in OF_LOT
    if kind != "trial" or reading.what not in OF_TRIAL:
        return False
    return reading.what not in ("depth", "hue") or goal_of(reading, scene) is not None


def goal_of(reading: Reading, scene: Scene) -> Target | None:
    """Return the exemplar that a word about depth is said against."""
    if reading.against is not None:
        return scene.targets.get(str(reading.against).removeprefix("exemplar:"))
    only = list(scene.targets.values())
    return only[0] if len(only) == 1 else None


def triple(reading: Reading) -> Array:
    """Return a reading's value of three components as an array, (3,)."""
    if not isinstance(reading.value, dict):
        raise EstimateError(f"the {reading.what} of {reading.of} has no three components")
    return np.array([float(v) for v in reading.value.values()])


def channel_sd(reading: Reading) -> Array:
    """Return the sd of a reading of three components, (3,); the handbook's where none was given."""
    if isinstance(reading.sd, dict):
        return np.array([float(v) for v in reading.sd.values()])
    if reading.sd is None:
        return np.full(3, value("readings.density"))
    return np.full(3, float(reading.sd))


def measure_of(number: int, reading: Reading, photos: Mapping[int, PhotoMeasure]) -> PhotoMeasure | None:
    """Return what a reading says of channel density, if anything."""
    if reading.what == "photo":
        return photos.get(number)
    if reading.what == "optical_density":
        return PhotoMeasure(density=triple(reading), covariance=np.diag(channel_sd(reading) ** 2))
    return None


def predict(reading: Reading, world: World, scene: Scene, draws: Draws) -> tuple[World, Array]:
    """Return the bench, settled where it was looked at, and the prediction, (m, N)."""
    kind, name = reading.subject
    if kind == "vessel":
        world = settle(name, world, world.now, draws)
        state = world.vessels.get(name)
        if state is None or state.withheld:
            return world, np.full((1, draws.n), np.nan)
        return world, _of_vessel(reading, state, draws)[None, :]
    if kind == "lot":
        mass = world.lots[name].mass
        return world, (np.full(draws.n, np.nan) if mass is None else _log(mass))[None, :]
    return world, _of_trial(reading, name, world, scene, draws)


def _of_vessel(reading: Reading, state: VesselState, draws: Draws) -> Array:
    """Return the prediction for a pot; per cent of dry residue or gum is of the mass, not of the volume."""
    per_cent = getattr(reading.value, "dimension", "") == "fraction"
    if per_cent and reading.what in ("dry_residue", "gum"):
        liquor = state.liquor
        part = (
            seen.dry_residue(liquor, draws)
            if reading.what == "dry_residue"
            else liquor["gum"] + liquor["gel"]
        )
        return _log(part / np.maximum(composition.mass(liquor), NOTHING))
    return OF_VESSEL[str(reading.what)](state, draws)


def _of_trial(reading: Reading, name: str, world: World, scene: Scene, draws: Draws) -> Array:
    trial = world.trials[name]
    nothing = np.full((3 if reading.what in ("optical_density", "photo") else 1, draws.n), np.nan)
    if trial.withheld:
        return nothing
    elapsed = max(world.now - trial.at, 0.0)
    if reading.what in ("optical_density", "photo"):
        support = scene.supports[trial.support]
        return np.ascontiguousarray(strokes.trial_density(trial, elapsed, support, draws).T)
    if reading.what == "flow":
        return _fluidity(trial, scene, draws)[None, :]
    if reading.what == "than":
        return _against_another(reading, trial, elapsed, world, scene, draws)
    goal = goal_of(reading, scene)
    if goal is None:
        return nothing
    mine = strokes.lab_on(strokes.trial_density(trial, elapsed, goal.reflectance, draws), goal.bare_rgb)
    theirs = strokes.lab_on(target.density_now(goal, draws), goal.bare_rgb)
    # Positive where the trial is darker, or browner.
    apart = theirs[:, 0] - mine[:, 0] if reading.what == "depth" else mine[:, 2] - theirs[:, 2]
    return np.asarray(apart)[None, :]


def _thickness(trial: TrialState, draws: Draws) -> Array:
    """Return the natural-log viscosity of the ink that a trial was made with, at the room's warmth, (N,)."""
    room = draws.of("bench/room", "pot.room") + ZERO_CELSIUS
    return _log(seen.viscosity(trial.liquor, room, draws))


def _fluidity(trial: TrialState, scene: Scene, draws: Draws) -> Array:
    """Return how freely an ink ran: log of the middle of its pen's flow band over its viscosity, (N,)."""
    pen = f"pens.{scene.pens.get(trial.width_of, 'goose-quill')}"
    middle = np.log(value(f"{pen}.flow_low") * value(f"{pen}.flow_high")) / 2
    return np.asarray(middle - _thickness(trial, draws))


def _against_another(
    reading: Reading, trial: TrialState, elapsed: float, world: World, scene: Scene, draws: Draws
) -> Array:
    """Return how much darker (in L*), or thicker (in log viscosity), a trial is than another one, (1, N)."""
    word, name = reading.compared or ("", "")
    other = world.trials.get(name)
    if other is None or other.withheld:
        return np.full((1, draws.n), np.nan)
    if word in ("thinner", "thicker"):
        return (_thickness(trial, draws) - _thickness(other, draws))[None, :]
    support = scene.supports[trial.support]
    bare = strokes.bare_rgb(support)
    mine = strokes.trial_density(trial, elapsed, support, draws)
    theirs = strokes.trial_density(other, max(world.now - other.at, 0.0), support, draws)
    return np.asarray(strokes.lab_on(theirs, bare)[:, 0] - strokes.lab_on(mine, bare)[:, 0])[None, :]
