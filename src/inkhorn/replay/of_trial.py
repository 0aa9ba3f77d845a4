"""What each reading of a trial should have been: its colour, its line, words about it, another trial beside it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from inkhorn.colour.lab import lab_to_linear
from inkhorn.daybook.entries import Reading
from inkhorn.handbook.load import value
from inkhorn.replay import composition, ground, people, seen, strokes, target, warmth
from inkhorn.replay.draws import Draws
from inkhorn.replay.liquor import Array
from inkhorn.replay.of_vessel import log
from inkhorn.replay.scene import Scene, usual_ground
from inkhorn.replay.target import Target
from inkhorn.replay.world import TrialState, World

_THREE = ("optical_density", "photo", "lab")
_ABOUT_BODY = ("thinner", "thicker")


def goal_of(reading: Reading, scene: Scene) -> Target | None:
    """Return the exemplar that a word about depth or hue is said against."""
    if reading.against is not None:
        return scene.targets.get(str(reading.against).removeprefix("exemplar:"))
    only = list(scene.targets.values())
    return only[0] if len(only) == 1 else None


def is_foreseen(reading: Reading, scene: Scene) -> bool:
    """Say whether a reading of a trial can be held against a prediction."""
    if reading.what in ("depth", "hue"):
        return goal_of(reading, scene) is not None
    return reading.what in _LOOKS


def foreseen(reading: Reading, name: str, world: World, scene: Scene, draws: Draws) -> Array:
    """Return what a reading of a trial should have been, (m, N)."""
    trial = world.trials.get(name)
    if trial is None or trial.withheld:
        return np.full((3 if reading.what in _THREE else 1, draws.n), np.nan)
    return np.atleast_2d(_LOOKS[str(reading.what)](reading, trial, world, scene, draws))


def thickness(trial: TrialState, draws: Draws) -> Array:
    """Return the natural-log viscosity of the ink of a trial at the room's warmth, (N,); a thinned one is made up with water."""
    room = warmth.room(draws)
    liquor = trial.liquor
    short = np.maximum(1.0 - composition.volume(liquor, room), 0.0)
    filled = liquor.changed(water=liquor["water"] + short * composition.water_density(room))
    return log(seen.viscosity(filled, room, draws))


def _density(trial: TrialState, world: World, support: Array, draws: Draws) -> Array:
    return strokes.trial_density(trial, max(world.now - trial.at, 0.0), support, draws)


def _channels(reading: Reading, trial: TrialState, world: World, scene: Scene, draws: Draws) -> Array:
    del reading
    return np.ascontiguousarray(_density(trial, world, scene.supports[trial.support], draws).T)


def _lab(reading: Reading, trial: TrialState, world: World, scene: Scene, draws: Draws) -> Array:
    """Return L*, a*, b* on the trial's own support, whose colour is itself known only so far, (3, N)."""
    del reading
    density = _density(trial, world, scene.supports[trial.support], draws)
    bare = lab_to_linear(ground.colour(usual_ground(scene, trial.support), draws))
    return np.ascontiguousarray(strokes.lab_on(density, bare).T)


def hand_of(trial: TrialState, scene: Scene) -> tuple[str, str]:
    """Return the pen that a trial was written with and its cut."""
    return trial.width_of, scene.pens.get(trial.width_of, "goose-quill")


def _taken(trial: TrialState, scene: Scene, draws: Draws) -> Array:
    there = usual_ground(scene, trial.support)
    return ground.uptake(there.name, there.kind, there.side, draws)


def _width(reading: Reading, trial: TrialState, world: World, scene: Scene, draws: Draws) -> Array:
    del reading, world
    tool, kind = hand_of(trial, scene)
    edge = ground.pen_width(tool, kind, scene.widths.get(tool), draws)
    mu = np.exp(thickness(trial, draws))
    wide = ground.line_width(
        tool=tool or kind, edge=edge, taken=_taken(trial, scene, draws), viscosity=mu, draws=draws
    )
    return log(wide)


def _ragged(reading: Reading, trial: TrialState, world: World, scene: Scene, draws: Draws) -> Array:
    del reading, world
    mu = np.exp(thickness(trial, draws))
    return log(ground.raggedness(taken=_taken(trial, scene, draws), viscosity=mu, draws=draws))


def _flow(reading: Reading, trial: TrialState, world: World, scene: Scene, draws: Draws) -> Array:
    """Return how freely an ink ran: log of the middle of its pen's flow band over its viscosity, (N,)."""
    del world
    pen = f"pens.{hand_of(trial, scene)[1]}"
    middle = np.log(value(f"{pen}.flow_low") * value(f"{pen}.flow_high")) / 2
    return people.heard("flow", reading.who, middle - thickness(trial, draws), draws)


def _against_page(reading: Reading, trial: TrialState, world: World, scene: Scene, draws: Draws) -> Array:
    """Return how much darker (L*) or browner (b*) a trial is than an exemplar, on the exemplar's skin, (N,)."""
    goal = goal_of(reading, scene)
    if goal is None:
        return np.full(draws.n, np.nan)
    mine = strokes.lab_on(_density(trial, world, goal.reflectance, draws), goal.bare_rgb)
    theirs = strokes.lab_on(target.density_now(goal, draws), goal.bare_rgb)
    apart = theirs[:, 0] - mine[:, 0] if reading.what == "depth" else mine[:, 2] - theirs[:, 2]
    return people.heard(str(reading.what), reading.who, apart, draws)


def _than(reading: Reading, trial: TrialState, world: World, scene: Scene, draws: Draws) -> Array:
    """Return how much darker (L*) or thicker (log viscosity) a trial is than another one, each as it lies there, (N,)."""
    word, name = reading.compared or ("", "")
    other = world.trials.get(name)
    if other is None or other.withheld:
        return np.full(draws.n, np.nan)
    if word in _ABOUT_BODY:
        return thickness(trial, draws) - thickness(other, draws)

    def lightness(one: TrialState) -> Array:
        support = scene.supports[one.support]
        return strokes.lab_on(_density(one, world, support, draws), strokes.bare_rgb(support))[:, 0]

    return np.asarray(lightness(other) - lightness(trial))


_LOOKS: Mapping[str, Callable[[Reading, TrialState, World, Scene, Draws], Array]] = {
    "optical_density": _channels,
    "photo": _channels,
    "lab": _lab,
    "line_width": _width,
    "raggedness": _ragged,
    "depth": _against_page,
    "hue": _against_page,
    "flow": _flow,
    "than": _than,
}
