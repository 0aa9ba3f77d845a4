"""Which checkpoints bring new lots nearest to the ink that was made."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.counsel.again.checkpoints import (
    FREE,
    READINGS,
    Eye,
    drops_laid,
    error,
    telling,
    trouble,
)
from inkhorn.counsel.again.lots import Hands, new_draws, old_draws, picked, same_source
from inkhorn.counsel.again.net import Net
from inkhorn.counsel.again.result import Chance
from inkhorn.counsel.again.rule import Made, Marks, Rule
from inkhorn.counsel.again.run import Kitchen
from inkhorn.daybook.entries import Mark, Reading
from inkhorn.estimate.contents import Hand, dry_stroke, usual_hand
from inkhorn.estimate.figures import figure
from inkhorn.estimate.posterior import Posterior, stroke_scatter
from inkhorn.handbook.load import value
from inkhorn.replay import composition, strokes, target, warmth
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import Plan
from inkhorn.replay.world import but

Array = NDArray[np.float64]
# numbers-in-code: draws that a recipe is followed on, a matter of time
DRAWS = 384
# numbers-in-code: factors on strength and on iron that the last search tries, a matter of time
_FACTORS = (0.85, 0.93, 1.0, 1.08, 1.18)
#: How many ways are tried with other strengths and irons.
_FINALISTS = 3
_TARGETS = ("specific_gravity", "dry_residue", "discharge")
BY_WEIGHT = Rule()


@attrs.frozen(kw_only=True, eq=False)
class Trial:
    """One way of ending the steps, and what came of it."""

    rule: Rule
    made: Made
    score: float


@attrs.frozen(kw_only=True, eq=False)
class Chosen:
    """What was found: the best way, the same by fixed weights, what the figures are, and all that was tried.

    ``fold`` is how far the net recipe with the very same lots comes from the
    first ink, at the median; ``kept`` whether a sample of the first ink is there
    to be looked at beside, ``compared`` the trial that is one.
    """

    kitchen: Kitchen
    marks: Marks
    best: Trial
    weights: Trial
    tried: tuple[Trial, ...]
    fold: float
    kept: bool
    compared: str | None
    kin: frozenset[str]
    chances: dict[str, float]


def choose(
    post: Posterior,
    net: Net,
    *,
    elsewhere: Collection[str] = (),
    draws: int = DRAWS,
    only: Rule | None = None,
) -> Chosen:
    """Return the checkpoints under which the final ink scatters least over new lots.

    Every way meets the same new lots and the same errors of hand and eye, so
    that a difference between two is no noise.

    Parameters
    ----------
    elsewhere : collection of str
        Lots that will come from another source than before.
    draws : int
        How many new lots are tried.
    only : Rule, optional
        Follow this way only.
    """
    plan, picks = post.problem.plan, picked(post, draws)
    first = but(net.made.columns(picks), at=0.0)
    eye = eye_of(net, plan)
    kept, compared = _sample(net, plan)
    eye = attrs.evolve(
        eye, parts=parts_of(plan, compared) or telling(first, post.problem.draws(post.z[:, picks]), eye)
    )

    def kitchen(hands: Hands, *, errs: bool, lab: Array | None = None) -> Kitchen:
        return Kitchen(
            net=net,
            plan=plan,
            draws=hands,
            eye=eye,
            lab=first_lab(first, eye, plan, hands) if lab is None else lab,
            luck=stroke_scatter(post)[picks],
            picks=picks,
            first=first,
            seed=post.seed,
            spindle=has_spindle(plan),
            errs=errs,
            beside=kept or compared is not None,
        )

    empty = Hands(post.problem.unknowns, post.z[:, picks])
    scout = kitchen(empty, errs=False, lab=np.zeros((len(picks), 3)))
    old = kitchen(old_draws(post, picks, scout.asked, "again"), errs=False)
    marks, fold = _marks(old, net)
    kin = same_source(post, net.lots, elsewhere)
    fresh = [name for name, lot in net.lots.items() if lot.holds is None]
    new = kitchen(new_draws(post, picks, fresh, kin, scout.asked, "again"), errs=True)
    marks = _beside(marks, new)
    weights = _tried(new, marks, BY_WEIGHT)
    rules = (only,) if only is not None else _rules(net)
    tried = [_tried(new, marks, rule) for rule in rules]
    if only is None:
        tried += _finer(new, marks, sorted(tried, key=lambda t: -t.score)[:_FINALISTS])
    best = max(tried, key=lambda t: t.score)
    return Chosen(
        kitchen=new,
        marks=marks,
        best=best,
        weights=weights,
        tried=tuple(tried),
        fold=fold,
        kept=kept,
        compared=compared,
        kin=kin,
        chances=_chances(tried),
    )


def eye_of(net: Net, plan: Plan) -> Eye:
    """Return the hand and the support that the ink is looked at with: those of the trial, else the usual ones."""
    hand = usual_hand(net.vessel, plan)
    for item in plan.entries:
        e = item.entry
        if isinstance(e, Mark) and e.trial == net.trial and e.method in ("pen", "line", "pangram"):
            pen = plan.shelf.pens.get(e.pen) if e.pen else None
            kind = pen.material if pen else None
            hand = Hand(tool=e.pen or "", pen_kind=kind, method="pen", support=e.support)
    support = plan.scene.supports.get(hand.support)
    return Eye(hand=hand, plan=plan, reflectance=target.default_support() if support is None else support)


def parts_of(plan: Plan, trial: str | None) -> int | None:
    """Return how far a thinned trial was thinned: one in so many."""
    for item in plan.entries:
        e = item.entry
        if isinstance(e, Mark) and e.trial == trial and e.thinned is not None:
            return max(round(1 / e.thinned.value), 1)
    return None


def first_lab(first: object, eye: Eye, plan: Plan, draws: Draws) -> Array:
    """Return the dry Lab of a usual stroke of the first ink on each draw, (N, 3)."""
    cool = but(first, temperature=warmth.room(draws))
    laid = dry_stroke(cool, eye.hand, plan, eye.reflectance, draws).density  # type: ignore[arg-type]
    return strokes.lab_on(laid, strokes.bare_rgb(eye.reflectance))


def has_spindle(plan: Plan) -> bool:
    """Say whether the daybook ever read a hydrometer or a barkometer."""
    return any(
        isinstance(i.entry, Reading)
        and i.entry.what in ("specific_gravity", "barkometer")
        and i.entry.with_ in (None, "hydrometer", "barkometer")
        for i in plan.entries
    )


def _sample(net: Net, plan: Plan) -> tuple[bool, str | None]:
    """Return whether the ink itself is there to be sampled, and a measured thinned trial of it where there is one."""
    if net.trial is None:
        return True, None
    entries = plan.entries
    place = next(i for i, item in enumerate(entries) if item.number == net.last)
    touched = ("add", "reduce", "pour", "strain", "steep", "neutralise", "crystallise", "bring", "weather")
    near: list[str] = []
    for side in (reversed(entries[: place + 1]), entries[place + 1 :]):
        for item in side:
            e = item.entry
            names = (getattr(e, "into", None), getattr(e, "vessel", None))
            if e.kind in touched and net.vessel in names:
                break
            if (
                isinstance(e, Mark)
                and e.vessel == net.vessel
                and e.thinned is not None
                and e.method == "drop"
            ):
                near.append(e.trial)
    for trial in near:
        for item in entries:
            e = item.entry
            if (
                isinstance(e, Reading)
                and e.subject == ("trial", trial)
                and e.what in ("optical_density", "photo")
            ):
                return False, trial
    return False, None


def _marks(old: Kitchen, net: Net) -> tuple[Marks, float]:
    """Return what the first ink's lots, made into the net recipe, read at each checkpoint, and how near they come."""
    marks = Marks(strength={}, strip=0.0, discharge=0.0, residue=1.0, volume=net.volume)
    # The doses take up room of their own: what is boiled down to is less than what is wanted.
    for _ in range(2):
        over = float(np.median(old.follow(BY_WEIGHT, marks).volume)) - net.volume
        marks = attrs.evolve(marks, volume=max(marks.volume - over, net.volume / 8))
        old = old.scaled(1.0)
    made = old.follow(BY_WEIGHT, marks)
    read = {name: READINGS[name](made.boiled, old.draws, old.eye) for name in READINGS if name != "strip"}
    ml = composition.volume(made.boiled.liquor, made.boiled.temperature)
    marks = attrs.evolve(
        marks,
        strength={name: float(np.median(place)) for name, place in read.items()},
        residue=float(np.exp(np.median(read["dry_residue"]))),
        volume=float(np.median(ml)),
    )
    return marks, float(np.median(made.distance))


def _beside(marks: Marks, new: Kitchen) -> Marks:
    """Return the marks with what thinned drops and the running-out of the finished ink should show.

    Where a sample is kept, it is looked at beside, with its own error and luck;
    else one figure is told, the middle of what the estimate holds possible.
    """
    out = {}
    for name in ("strip", "discharge"):
        shown = READINGS[name](new.first, new.draws, new.eye)
        if not new.beside:
            out[name] = np.full(len(shown), float(np.median(shown)))
            continue
        if name == "strip":
            # Read in one picture with the new drops: what remains is the luck of these.
            luck = standard_normal(new.seed, "again kept drops", len(shown))
            off = luck * new.luck * float(np.median(shown)) / np.sqrt(drops_laid())
        else:
            off = error(name, spindle=new.spindle) * standard_normal(
                new.seed, f"again kept {name}", len(shown)
            )
        out[name] = shown + off
    return attrs.evolve(marks, strip=out["strip"], discharge=out["discharge"])


def _rules(net: Net) -> tuple[Rule, ...]:
    """Return every way of ending the steps that this recipe allows."""
    boils = net.soaks or net.splashes or net.dosed("tannin")
    strengths = (FREE, *_TARGETS) if boils else (FREE,)
    irons: tuple[str, ...] = ("volume",)
    if net.dosed("iron salt") and not net.sides:
        irons = ("volume", "dry_residue", "strip")
    elif net.sides and not net.dosed("iron salt"):
        irons = ("volume", "strip")
    gums = ("volume", "discharge") if net.dosed("gum") else ("volume",)
    trims = ("", "strip", "discharge")
    if not boils:
        # Nothing is strained that could be stronger or weaker: what is weighed may just be weighed.
        irons, gums = ("weight", *irons), ("weight", *gums)
    ways = itertools.product(strengths, irons, gums, trims)
    # What was brought to one reading is not brought to it again.
    ways_told = (Rule(strength=s, iron=i, gum=g, trim=t) for s, i, g, t in ways if not (t and t in (i, g)))
    return (BY_WEIGHT, *ways_told)


def _tried(kitchen: Kitchen, marks: Marks, rule: Rule) -> Trial:
    made = kitchen.follow(rule, marks)
    return Trial(rule=rule, made=made, score=_score(made, rule, kitchen.of_first()))


def _score(made: Made, rule: Rule, first: Made) -> float:
    """Return how often the ink comes out the same over new lots, less what the readings must be worth.

    A match is counted softly, ``exp(-(d/match)^2 / 2)``, so that a search over a few hundred
    draws finds its way. A limit counts as broken where the first ink kept it: to make an ink
    again is not to make another.
    """
    near = np.exp(-0.5 * (made.distance / value("counsel.match")) ** 2)
    broken = (first.flow_ok & ~made.flow_ok) | (first.permanence_ok & ~made.permanence_ok)
    return float((near * ~broken).mean()) - sum(trouble(r) for r in rule.readings)


def _finer(kitchen: Kitchen, marks: Marks, best: Sequence[Trial]) -> list[Trial]:
    """Return the best ways with a little more or less strength, then iron, than the first ink had."""
    out = []
    for trial in best:
        now = trial
        for iron in (False, True, False):
            for factor in _FACTORS:
                if factor == 1 or (iron and now.rule.iron == "strip"):
                    continue
                rule = (
                    attrs.evolve(now.rule, more_iron=factor)
                    if iron
                    else attrs.evolve(now.rule, more_strength=factor)
                )
                tried = _tried(kitchen, marks, rule)
                out.append(tried)
                now = max(now, tried, key=lambda t: t.score)
    return out


def _chances(tried: Sequence[Trial]) -> dict[str, float]:
    """Return the best chance of a match with each reading of strength, beside what else is done."""
    out: dict[str, float] = {}
    for trial in tried:
        chance = float(trial.made.matches.mean())
        out[trial.rule.strength] = max(out.get(trial.rule.strength, 0.0), chance)
    return out


def chance_of(made: Made) -> Chance:
    """Return what came of a recipe over new lots as figures."""
    return Chance(
        match=float(made.matches.mean()),
        distance=figure(made.distance, "1"),
        flow_ok=float(made.flow_ok.mean()),
        permanence_ok=float(made.permanence_ok.mean()),
        volume=figure(made.volume, "ml"),
    )
