"""The net recipe of an ink: what its daybook comes to once corrections and mistakes are folded away.

Entries are gone through backwards with, for each vessel, the share of what is
in it that ends in the ink: a pour splits it, a discard lowers it, water and
boiling do not count. What a step put in, times that share, is what the recipe
asks for. Water added and boiled off comes down to one volume.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

import attrs
import numpy as np

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import (
    Add,
    Bring,
    Crystallise,
    Discard,
    Mark,
    Neutralise,
    Pour,
    Prepare,
    Reading,
    Reduce,
    Steep,
    Strain,
    Weather,
)
from inkhorn.errors import CounselError
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.load import value
from inkhorn.replay import composition, dissolve, metal
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Plan, seconds_since
from inkhorn.replay.quiet import settle
from inkhorn.replay.steps.dispatch import apply
from inkhorn.replay.steps.moving import share_of
from inkhorn.replay.world import LotState, VesselState, World, but

_IRON_WORK = ("metallic iron", "sulfide")


@attrs.frozen(kw_only=True, eq=False)
class Soak:
    """A plant steeped: so much in so much, and the share of the strained liquor that goes into the pot.

    ``stood`` is how long it stood after its time before it was strained, s.
    """

    entry: Steep
    number: int
    grams: float
    ml: float
    share: float = 1.0
    stood: float = 0.0


@attrs.frozen(kw_only=True)
class Dose:
    """So many grams of a lot stirred into the pot; ``seconds`` that it soaks there, for a plant."""

    lot: str
    role: str
    grams: float
    seconds: float = 0.0


@attrs.frozen(kw_only=True)
class Splash:
    """So many ml of a liquid that is no plain water."""

    liquid: str
    ml: float


@attrs.frozen(kw_only=True, eq=False)
class Side:
    """A liquor made beside, its steps as they were, each with the share of it that the recipe asks for."""

    vessel: str
    steps: tuple[tuple[Recorded, float], ...]
    until: float
    """Bench clock at which it was poured in, s."""


@attrs.frozen(kw_only=True, eq=False)
class Net:
    """What an ink comes to.

    Parameters
    ----------
    soaks, splashes, brought, sides, doses : tuples
        In the order of doing them; ``brought`` are liquors of unknown make with the share of each.
    volume : float
        ml of the ink.
    rest : float
        Seconds it stood after the last thing that went in.
    lots : mapping
        Each lot as it was when it was first used.
    prepared : mapping
        How each lot was prepared, in words of the daybook.
    folded, cannot : tuple of str
        What was folded away, and what cannot be made again, in plain words.
    """

    vessel: str
    trial: str | None
    soaks: tuple[Soak, ...]
    splashes: tuple[Splash, ...]
    brought: tuple[tuple[Recorded, float], ...]
    sides: tuple[Side, ...]
    doses: tuple[Dose, ...]
    volume: float
    rest: float
    lots: Mapping[str, LotState]
    prepared: Mapping[str, tuple[str, ...]]
    made: VesselState
    last: int
    folded: tuple[str, ...]
    cannot: tuple[str, ...]

    def dosed(self, role: str) -> tuple[Dose, ...]:
        """Return the doses of one role."""
        return tuple(d for d in self.doses if d.role == role)


@attrs.define(kw_only=True)
class _Past:
    """What a walk through the daybook noted of each entry."""

    share: dict[int, float] = attrs.field(factory=dict)
    grams: dict[int, float] = attrs.field(factory=dict)
    ml: dict[int, float] = attrs.field(factory=dict)
    off: dict[int, float] = attrs.field(factory=dict)
    lots: dict[str, LotState] = attrs.field(factory=dict)


def net_recipe(post: Posterior, vessel: str, trial: str | None = None) -> Net:
    """Return the net recipe of a vessel's ink as it is, or as it was when a trial was written with it.

    Raises
    ------
    CounselError
        If there is no such vessel or trial, it is empty, or its estimate is withheld.
    """
    plan = post.problem.plan
    used = _up_to(plan, vessel, trial)
    past = _Past()
    world = _walk(plan, used, post.draws, past)
    made = world.vessels.get(vessel)
    if made is None:
        known = ", ".join(world.vessels) or "none yet"
        raise CounselError(f"there is no vessel {vessel!r}", mend=f"Vessels of this daybook: {known}")
    if made.withheld:
        raise CounselError(made.withheld, where=vessel, mend="Ask about another vessel")
    volume = float(np.median(composition.volume(made.liquor, made.temperature)))
    if volume < 1:
        raise CounselError(
            f"{vessel} is empty", mend="Say --trial with a trial that was written with its ink"
        )
    return _folded(plan, used, past, vessel, trial, made, volume)


def _up_to(plan: Plan, vessel: str, trial: str | None) -> tuple[Recorded, ...]:
    if trial is None:
        return plan.entries
    for place, item in enumerate(plan.entries):
        if isinstance(item.entry, Mark) and item.entry.trial == trial:
            if item.entry.vessel != vessel:
                raise CounselError(
                    f"trial {trial} was written with the ink of {item.entry.vessel}, not of {vessel}",
                    mend=f"Say --vessel {item.entry.vessel}",
                )
            return plan.entries[: place + 1]
    known = ", ".join(plan.shelf.trials) or "none yet"
    raise CounselError(f"there is no trial {trial!r}", mend=f"Trials of this daybook: {known}")


def begin(plan: Plan, n: int) -> World:
    """Return the empty bench that a replay of a plan starts with."""
    lots = {name: LotState(material=t.material or "") for name, t in plan.shelf.lots.items()}
    walls = {name: metal.wall_of(t.made_of) for name, t in plan.shelf.vessels.items()}
    return World.start(n, lots, 0.0, {k: wall for k, wall in walls.items() if wall})


def _walk(plan: Plan, entries: Sequence[Recorded], draws: Draws, past: _Past) -> World:
    """Replay some entries and note what each took and moved, at the median."""
    world = begin(plan, draws.n)
    for item in entries:
        world = but(world, now=max(world.now, seconds_since(plan.start, item.entry.at)))
        if isinstance(item.entry, Reading):
            continue
        world = _noted(item, plan, draws, world, past)
        world = apply(item.entry, item.number, world, draws, plan.shelf)
    for name in world.vessels:
        world = settle(name, world, world.now, draws)
    return world


def _noted(item: Recorded, plan: Plan, draws: Draws, world: World, past: _Past) -> World:
    entry, number = item.entry, item.number
    if isinstance(entry, Pour | Discard):
        name = entry.from_ if isinstance(entry, Pour) else entry.vessel
        world = settle(name, world, world.now, draws)
        if name in world.vessels:
            moved = share_of(entry.amount, number, name, world.vessels[name], draws, plan.shelf)
            past.share[number] = float(np.median(moved))
    lot, amount = getattr(entry, "lot", None), getattr(entry, "amount", None)
    if isinstance(entry, Steep | Add | Weather | Neutralise) and lot is not None and amount is not None:
        state = world.lots[lot]
        past.lots.setdefault(lot, state)
        if dissolve.is_material(state.material):
            taken, _ = dissolve.grams_taken(amount, number, "amount", lot, state, draws)
            past.grams[number] = float(np.median(taken))
        elif amount.dimension == "volume":
            past.ml[number] = float(np.median(draws.amount(number, "amount", amount)))
    liquid_amount = getattr(entry, "liquid_amount", None)
    if liquid_amount is not None:
        past.ml[number] = float(np.median(draws.amount(number, "liquid_amount", liquid_amount)))
    elif isinstance(entry, Add) and entry.liquid is not None and amount is not None:
        past.ml[number] = float(np.median(draws.amount(number, "amount", amount)))
    return world


# ---------------------------------------------------------------- backwards


@attrs.define(kw_only=True)
class _Kept:
    """What the way back through the entries found."""

    weight: dict[str, float]
    marc: dict[str, float] = attrs.field(factory=dict)
    soaks: list[Soak] = attrs.field(factory=list)
    splashes: list[Splash] = attrs.field(factory=list)
    brought: list[tuple[Recorded, float]] = attrs.field(factory=list)
    doses: list[tuple[Dose, Recorded]] = attrs.field(factory=list)
    side_steps: dict[str, list[tuple[Recorded, float]]] = attrs.field(factory=dict)
    side_ends: dict[str, datetime] = attrs.field(factory=dict)
    strained: dict[str, datetime] = attrs.field(factory=dict)
    waters: int = 0
    boils: int = 0
    spilt: int = 0


def _sides(entries: Sequence[Recorded], past: _Past, pot: str) -> frozenset[str]:
    """Return the vessels in which iron was drawn from metal or ore, the pot itself left out."""
    found = set()
    for item in entries:
        e = item.entry
        if isinstance(e, Weather):
            found.add(e.into)
        elif isinstance(e, Neutralise):
            found.add(e.vessel)
        elif isinstance(e, Add | Steep) and e.lot in past.lots:
            material = past.lots[e.lot].material
            if dissolve.is_material(material) and dissolve.role(material) in _IRON_WORK:
                found.add(e.into)
    return frozenset(found - {pot})


def _folded(
    plan: Plan,
    used: Sequence[Recorded],
    past: _Past,
    vessel: str,
    trial: str | None,
    made: VesselState,
    volume: float,
) -> Net:
    kept = _Kept(weight={vessel: 1.0})
    beside = _sides(used, past, vessel)
    for item in reversed(used):
        _back(item, past, kept, beside)
    ends = used[-1].entry.at
    last = max((r.entry.at for _, r in kept.doses), default=ends)
    rest = min((ends - last).total_seconds(), value("again.most_rest"))
    sides = tuple(
        Side(
            vessel=name,
            steps=tuple(reversed(steps)),
            until=seconds_since(plan.start, kept.side_ends.get(name, ends)),
        )
        for name, steps in kept.side_steps.items()
    )
    if not (kept.soaks or kept.doses or sides or kept.brought):
        raise CounselError(
            f"nothing in the daybook says how {vessel} was made", mend="Record the steps that made it"
        )
    return Net(
        vessel=vessel,
        trial=trial,
        soaks=tuple(reversed(kept.soaks)),
        splashes=tuple(reversed(kept.splashes)),
        brought=tuple(reversed(kept.brought)),
        sides=sides,
        doses=_summed([d for d, _ in reversed(kept.doses)]),
        volume=volume,
        rest=rest,
        lots=past.lots,
        prepared=_prepared(used),
        made=made,
        last=used[-1].number,
        folded=_told_folded(kept),
        cannot=_told_lost(used, kept),
    )


def _back(item: Recorded, past: _Past, kept: _Kept, beside: frozenset[str]) -> None:
    """Take one entry into account on the way back."""
    e, number, w = item.entry, item.number, kept.weight
    if isinstance(e, Pour):
        share = past.share.get(number, 0.0)
        into = w.get(e.into, 0.0)
        if into > 0 and e.from_ in beside and e.into not in beside:
            kept.side_ends.setdefault(e.from_, e.at)
        # numbers-in-code: a spoonful left behind is no correction
        kept.spilt += w.get(e.from_, 0.0) > 0 and into == 0 and share > 0.02
        w[e.from_] = share * into + (1 - share) * w.get(e.from_, 0.0)
    elif isinstance(e, Strain):
        if e.into != e.vessel:
            if w.get(e.into, 0.0) > 0 and e.vessel in beside:
                kept.side_ends.setdefault(e.vessel, e.at)
            w[e.vessel] = w.get(e.into, 0.0)
        kept.strained[e.vessel] = e.at
    elif isinstance(e, Discard):
        kept.spilt += w.get(e.vessel, 0.0) > 0
        w[e.vessel] = (1 - past.share.get(number, 0.0)) * w.get(e.vessel, 0.0)
    else:
        _put_in(item, past, kept, beside)


def _put_in(item: Recorded, past: _Past, kept: _Kept, beside: frozenset[str]) -> None:
    e, number = item.entry, item.number
    where = str(getattr(e, "into", None) or getattr(e, "vessel", ""))
    weight = kept.weight.get(where, 0.0)
    if isinstance(e, Steep) and e.marc_of is None:
        weight_of_marc = kept.marc.pop(where, 0.0)
        if max(weight, weight_of_marc) <= 0 or where in beside:
            _beside(item, weight, where, kept, beside)
            return
        whole = max(weight, weight_of_marc)
        kept.soaks.append(
            Soak(
                entry=e,
                number=number,
                grams=whole * past.grams.get(number, 0.0),
                ml=whole * past.ml.get(number, 0.0),
                share=weight / whole,
                stood=_stood(e, kept),
            )
        )
    elif weight <= 0:
        return
    elif where in beside:
        _beside(item, weight, where, kept, beside)
    elif isinstance(e, Steep):
        kept.marc[str(e.marc_of)] = max(weight, kept.marc.get(str(e.marc_of), 0.0))
        again = Soak(
            entry=e, number=number, grams=0.0, ml=weight * past.ml.get(number, 0.0), stood=_stood(e, kept)
        )
        kept.soaks.append(again)
    elif isinstance(e, Bring):
        kept.brought.append((item, weight))
    elif isinstance(e, Reduce):
        kept.boils += 1
    elif isinstance(e, Add | Neutralise):
        _added(item, e, weight, past, kept, where)


def _stood(e: Steep, kept: _Kept) -> float:
    strained = kept.strained.get(e.into)
    return 0.0 if strained is None else max((strained - e.at).total_seconds() - e.for_.value, 0.0)


def _beside(item: Recorded, weight: float, where: str, kept: _Kept, beside: frozenset[str]) -> None:
    if weight > 0 and where in beside:
        kept.side_steps.setdefault(where, []).append((item, weight))


def _added(item: Recorded, e: Add | Neutralise, weight: float, past: _Past, kept: _Kept, where: str) -> None:
    number = item.number
    if e.lot is not None and number in past.grams:
        role = dissolve.role(past.lots[e.lot].material)
        soaks = 0.0
        if role == "tannin" and where in kept.strained:
            soaks = (kept.strained[where] - e.at).total_seconds()
        dose = Dose(lot=e.lot, role=role, grams=weight * past.grams[number], seconds=soaks)
        kept.doses.append((dose, item))
    elif number in past.ml or isinstance(e, Add):
        liquid = past.lots[e.lot].material if e.lot is not None else str(getattr(e, "liquid", None))
        if "water" in liquid:
            kept.waters += 1
        elif number in past.ml:
            kept.splashes.append(Splash(liquid=liquid, ml=weight * past.ml[number]))


def _summed(doses: Sequence[Dose]) -> tuple[Dose, ...]:
    """Return one dose a lot: what was stirred in three times is stirred in once."""
    out: dict[str, Dose] = {}
    for dose in doses:
        before = out.get(dose.lot)
        out[dose.lot] = (
            dose
            if before is None
            else attrs.evolve(
                before, grams=before.grams + dose.grams, seconds=max(before.seconds, dose.seconds)
            )
        )
    return tuple(out.values())


def _prepared(used: Sequence[Recorded]) -> dict[str, tuple[str, ...]]:
    out: dict[str, tuple[str, ...]] = {}
    for item in used:
        if isinstance(item.entry, Prepare):
            out[item.entry.lot] = (*out.get(item.entry.lot, ()), item.entry.how)
    return out


def _told_folded(kept: _Kept) -> tuple[str, ...]:
    counts: dict[str, int] = {}
    for dose, _ in kept.doses:
        counts[dose.lot] = counts.get(dose.lot, 0) + 1
    out = [
        f"{lot.replace('-', ' ')} went in {many} times; here it goes in once"
        for lot, many in counts.items()
        if many > 1
    ]
    if kept.boils + kept.waters > 1:
        out.append("what was boiled off and what water was added come down to one boiling or one thinning")
    if kept.spilt:
        out.append("what was poured away or into other vessels is left out")
    return tuple(out)


def _told_lost(used: Sequence[Recorded], kept: _Kept) -> tuple[str, ...]:
    """Return what cannot be made again, in plain words."""
    out = [
        f"the {r.entry.material.replace('-', ' ')} liquor brought into {r.entry.vessel} is of unknown make: "
        "this recipe reckons with the very same, and only as long as there is some"
        for r, _ in kept.brought
        if isinstance(r.entry, Bring)
    ]
    grown = {r.entry.lot for r in used if isinstance(r.entry, Crystallise)}
    out += [
        f"{dose.lot.replace('-', ' ')} was grown on this bench: another crop is another salt, and this recipe "
        "reckons with what is left of this one"
        for dose, _ in kept.doses
        if dose.lot in grown
    ]
    out += [
        f"the iron liquor of {name} was weathered from ore: how another piece weathers is known only to "
        "a factor of two or so"
        for name, steps in kept.side_steps.items()
        if any(isinstance(r.entry, Weather) for r, _ in steps)
    ]
    return tuple(dict.fromkeys(out))
