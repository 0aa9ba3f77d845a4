"""The daybook replayed: a pure fold over its entries, for all draws at once."""

from __future__ import annotations

import functools
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.daybook.inventory import Inventory, take_inventory
from inkhorn.replay import kin, metal, predict, target
from inkhorn.replay.draws import Draws, Scout, Unknown
from inkhorn.replay.liquor import Array
from inkhorn.replay.quiet import settle
from inkhorn.replay.scene import Scene, make_scene, with_sides
from inkhorn.replay.steps import heat, iron, marking, moving, solids  # noqa: F401  (they register their kinds)
from inkhorn.replay.steps.dispatch import apply
from inkhorn.replay.target import PhotoMeasure
from inkhorn.replay.world import LotState, VesselState, World, but

#: Keys of an entry that may say what it is about, the most telling first.
_THINGS = ("trial", "into", "vessel", "name", "lot", "of")


@attrs.frozen(kw_only=True, eq=False, slots=False)
class Plan:
    """A daybook made ready for replay: its entries in order, what they name, what is unknown.

    Parameters
    ----------
    entries : tuple of Recorded
        Amends and voids applied, in order of time.
    scene : Scene
        Supports and exemplars that predictions need.
    unknowns : mapping of str to Unknown
        Every unknown that the replay asks for, in a fixed order (by name).
    evidence : tuple of Recorded
        The readings that can be held against a prediction.
    idle : tuple of Recorded
        Readings that are recorded but teach the estimate nothing yet.
    """

    entries: tuple[Recorded, ...]
    shelf: Inventory
    scene: Scene
    unknowns: Mapping[str, Unknown]
    evidence: tuple[Recorded, ...]
    idle: tuple[Recorded, ...]
    start: datetime

    @functools.cached_property
    def labels(self) -> Mapping[int, str]:
        """Return for each entry what it is known by whatever its number: kind, thing and time.

        So that what is drawn for one pot stays the same when the entries of another were recorded between.
        """
        out: dict[int, str] = {}
        met: Counter[str] = Counter()
        for item in self.entries:
            thing = next((v for key in _THINGS if isinstance(v := getattr(item.entry, key, None), str)), "")
            label = f"{item.entry.kind} {thing} {item.entry.at.isoformat()}"
            out[item.number] = f"{label} {met[label]}"
            met[label] += 1
        return MappingProxyType(out)

    def alias(self, unknown: str) -> str:
        """Return the name of an unknown with its entry's label in the place of its number."""
        head, slash, rest = unknown.partition("/")
        if not head.startswith("entry:"):
            return unknown
        label = self.labels.get(int(head.removeprefix("entry:")))
        return unknown if label is None else f"entry:{label}{slash}{rest}"


@attrs.frozen(kw_only=True, eq=False)
class Deferred:
    """A reading of a vessel whose prediction was put off: the vessel as it then was."""

    reading: Reading
    state: VesselState | None

    def now(self, picks: NDArray[np.intp], draws: Draws) -> Array:
        """Return the prediction, (m, len(picks)), for some columns, whose draws are ``draws``."""
        state = None if self.state is None else self.state.columns(picks)
        return predict.of_state(self.reading, state, draws)


@attrs.frozen(kw_only=True, eq=False)
class Played:
    """The outcome of a replay: the bench at the end and what each reading should have been.

    ``predicted[number]`` is ``(m, N)``: the m components of that reading, on
    the scale of its likelihood. ``aside[number]`` is the bench as it stood at a
    reading of a trial whose prediction was put off (`looked_at`).
    """

    world: World
    predicted: Mapping[int, Array]
    deferred: Mapping[int, Deferred] = MappingProxyType({})
    aside: Mapping[int, World] = MappingProxyType({})


def make_plan(entries: Sequence[Recorded], photos: Mapping[int, PhotoMeasure] | None = None) -> Plan:
    """Make a daybook ready for replay.

    Parameters
    ----------
    entries : sequence of Recorded
        The effective entries (see `inkhorn.daybook.book.effective`).
    photos : mapping of int to PhotoMeasure, optional
        What was read from the picture of each `photo` reading, by entry number.
    """
    ordered = tuple(entries)
    shelf = with_sides(take_inventory(ordered), ordered)
    scene = make_scene(ordered, shelf, photos or {})
    # numbers-in-code: any date, for a daybook without entries
    start = min((e.entry.at for e in ordered), default=datetime(2000, 1, 1))  # noqa: DTZ001
    evidence = tuple(
        e
        for e in ordered
        if isinstance(e.entry, Reading)
        and predict.is_evidence(e.entry, scene)
        and (e.entry.what != "photo" or e.number in scene.photos)
    )
    idle = tuple(
        e
        for e in ordered
        if isinstance(e.entry, Reading) and e not in evidence and not predict.is_fact(e.entry)
    )
    plan = Plan(
        entries=ordered,
        shelf=shelf,
        scene=scene,
        unknowns=MappingProxyType({}),
        evidence=evidence,
        idle=idle,
        start=start,
    )
    scout = Scout(kin.kinship(ordered))
    play(plan, scout)
    for goal in scene.targets.values():
        target.density_now(goal, scout)
    unknowns = {name: scout.met[name] for name in sorted(scout.met, key=plan.alias)}
    return attrs.evolve(plan, unknowns=MappingProxyType(unknowns))


def seconds_since(start: datetime, at: datetime) -> float:
    """Return the bench clock at a moment, s since the first entry."""
    if (start.tzinfo is None) != (at.tzinfo is None):
        start, at = start.replace(tzinfo=None), at.replace(tzinfo=None)
    return (at - start).total_seconds()


def play(plan: Plan, draws: Draws, defer: frozenset[int] = frozenset()) -> Played:
    """Replay a plan for all draws at once.

    Parameters
    ----------
    plan : Plan
    draws : Draws
    defer : frozenset of int
        Readings of vessels and of trials whose prediction is put off
        (`Played.deferred`, `Played.aside`).

    Returns
    -------
    Played
        The bench after the last entry, and the predicted readings.
    """
    lots = {name: LotState(material=t.material or "") for name, t in plan.shelf.lots.items()}
    walls = {name: metal.wall_of(t.made_of) for name, t in plan.shelf.vessels.items()}
    world = World.start(draws.n, MappingProxyType(lots), 0.0, {k: wall for k, wall in walls.items() if wall})
    evidence = {e.number for e in plan.evidence}
    predicted: dict[int, Array] = {}
    deferred: dict[int, Deferred] = {}
    aside: dict[int, World] = {}
    for item in plan.entries:
        world = but(world, now=max(world.now, seconds_since(plan.start, item.entry.at)))
        if isinstance(item.entry, Reading):
            kind, name = item.entry.subject
            if item.number in defer and kind == "trial":
                aside[item.number] = world
            elif item.number in defer:
                world = settle(name, world, world.now, draws)
                deferred[item.number] = Deferred(reading=item.entry, state=world.vessels.get(name))
            elif item.number in evidence:
                world, predicted[item.number] = predict.predict(item.entry, world, plan.scene, draws)
        else:
            world = apply(item.entry, item.number, world, draws, plan.shelf)
    for name in world.vessels:
        world = settle(name, world, world.now, draws)
    return Played(
        world=world,
        predicted=MappingProxyType(predicted),
        deferred=MappingProxyType(deferred),
        aside=MappingProxyType(aside),
    )


def looked_at(plan: Plan, played: Played, draws: Draws, *, vessels: bool = False) -> Played:
    """Return a replay with the readings of trials foreseen that were put off; those of ``vessels`` too, where asked."""
    predicted = dict(played.predicted)
    for item in plan.evidence:
        world = played.aside.get(item.number)
        if world is not None and isinstance(item.entry, Reading):
            _, predicted[item.number] = predict.predict(item.entry, world, plan.scene, draws)
    if vessels:
        predicted |= {number: put.now(np.arange(draws.n), draws) for number, put in played.deferred.items()}
    return attrs.evolve(played, predicted=MappingProxyType(predicted), aside=MappingProxyType({}))
