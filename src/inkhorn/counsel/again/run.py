"""A recipe followed on many draws at once, each checkpoint read with its error.

At a checkpoint the maker goes on until the reading shows what it should. On
each draw the amount at which that happens is found by halving (what is read
rises or falls with the amount, so there is one), the reading's own error put in.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.chemistry import binding
from inkhorn.colour.difference import ciede2000
from inkhorn.counsel.again.checkpoints import FREE, READINGS, Eye, drops_laid, error
from inkhorn.counsel.again.lots import Hands
from inkhorn.counsel.again.net import Dose, Net, Soak, begin
from inkhorn.counsel.again.rule import Made, Marks, Rule, exact, halved, shared, stronger
from inkhorn.daybook.entries import Add, Bring, Reduce, Rest, Strain
from inkhorn.daybook.inventory import Inventory
from inkhorn.estimate.contents import dry_stroke
from inkhorn.handbook.load import row, value
from inkhorn.replay import composition, seen, strokes, warmth
from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import Plan, seconds_since
from inkhorn.replay.liquor import Liquor
from inkhorn.replay.quiet import settle
from inkhorn.replay.steps.dispatch import apply, poured_into
from inkhorn.replay.steps.heat import read_hot
from inkhorn.replay.world import VesselState, World, but

Array = NDArray[np.float64]
#: Entry numbers that no daybook and no other counsel uses.
FIRST = -1024
SPLASHES, IN_POT, DOSES = FIRST - 256, FIRST - 512, FIRST - 1024
BOIL, THIN, REST, TRIM, TRIM_WATER = (FIRST - 2048 - i for i in range(5))
#: How far a pot can be boiled down and thinned, as shares of what was strained.
_LEAST, _MOST = 1 / 32, 3.0
#: An iron salt or gum is never stirred in beyond so many times what the first ink had.
_MOST_DOSE = 2.0


@attrs.define(kw_only=True, eq=False)
class Kitchen:
    """A net recipe with draws of its lots, ready to be followed in one way after another.

    Parameters
    ----------
    scale : float
        How many times the first ink's amounts.
    lab : ndarray, shape (N, 3)
        Dry stroke of the first ink on each draw, on the support of the usual hand.
    luck : ndarray, shape (N,)
        Natural-log scatter of films from drop to drop.
    picks : ndarray of int
        Which draws of the posterior these are.
    first : VesselState
        The first ink, on these draws.
    spindle : bool
        Whether there is a hydrometer.
    errs : bool
        Whether hands and eyes err (False: to see what the first ink read).
    beside : bool
        Whether a sample of the first ink lies beside what is looked at.
    """

    net: Net
    plan: Plan
    draws: Hands
    eye: Eye
    lab: Array
    luck: Array
    picks: NDArray[np.intp]
    first: VesselState
    seed: int
    spindle: bool
    scale: float = 1.0
    errs: bool = True
    beside: bool = False
    _kept: dict[Any, Any] = attrs.field(factory=dict)

    @property
    def shelf(self) -> Inventory:
        """Return what there is."""
        return self.plan.shelf

    @property
    def pot(self) -> str:
        """Return the vessel that the ink is made in."""
        return self.net.vessel

    # ------------------------------------------------------------ errors

    def off(self, name: str) -> Array:
        """Return the standard-normal error of one act, (N,)."""
        return standard_normal(self.seed, f"again {name}", self.draws.n) * self.errs

    def read(self, reading: str, place: str) -> Array:
        """Return the error of a reading at a checkpoint, (N,), on its scale."""
        sd = error(reading, spindle=self.spindle, beside=self.beside)
        return sd * self.off(f"{reading} {place}")

    def weighed(self, grams: Array | float, name: str) -> Array:
        """Return what truly lies on the scale where grams are asked for."""
        scale = "measures.instrument.kitchen_scale.mass"
        sd = np.hypot(value(f"{scale}.absolute"), value(f"{scale}.relative") * np.asarray(grams))
        # What weighs little is weighed on what weighs little.
        sd = np.minimum(sd, value("counsel.check.volume.error") * np.asarray(grams))
        return np.maximum(grams + sd * self.off(f"weigh {name}"), 0.0)

    def poured(self, ml: Array | float, name: str) -> Array:
        """Return what truly is in the jug where ml are asked for."""
        return np.asarray(ml * np.exp(value("counsel.check.volume.error") * self.off(f"pour {name}")))

    # ------------------------------------------------------------ stages

    def strained(self) -> World:
        """Return the bench once all that is steeped is strained into the pot."""
        if "strained" not in self._kept:
            self._kept["strained"] = self._strained(self.draws)
        kept: World = self._kept["strained"]
        return kept

    def asked(self, draws: Draws) -> None:
        """Ask some draws for all that a recipe needs, every way of ending included (for a scout)."""
        world = self._strained(draws)
        for number in (BOIL, TRIM):
            draws.of(f"entry:{number}/level", "pot.level")
            read_hot(draws)
            world = apply(self._reduce(number), number, world, draws, self.shelf)
        world = self._with_beside(world, draws.full(1.0))
        for i, dose in enumerate(self.net.doses):
            world = apply(self._add(dose), DOSES - i, world, draws, self.shelf)
        world = apply(self._water(THIN), THIN, world, draws, self.shelf)
        world = self._rested(world, draws)
        state = world.vessels[self.pot]
        for reading in READINGS.values():
            reading(state, draws, self.eye)
        composition.dry_binding(state.liquor, draws)
        dry_stroke(state, self.eye.hand, self.plan, self.eye.reflectance, draws)

    def _strained(self, draws: Draws) -> World:
        world = self._beside(draws)
        for i, soak in enumerate(self.net.soaks):
            world = self._soaked(soak, FIRST - 2 * i, world, draws)
        for item, share in self.net.brought:
            if isinstance(item.entry, Bring):
                world = self._brought(item.entry, item.number, share, world, draws)
        for i, splash in enumerate(self.net.splashes):
            number = SPLASHES - i
            step = Add(
                at=self.plan.start,
                into=self.pot,
                liquid=splash.liquid,
                amount=exact(splash.ml * self.scale, "volume"),
            )
            world = apply(step, number, world, draws, self.shelf)
        for i, dose in enumerate(self.net.dosed("tannin")):
            world = self._soaked_in_pot(dose, IN_POT - i, world, draws)
        if self.pot not in world.vessels:
            empty = VesselState(liquor=Liquor.empty(draws.n), temperature=warmth.room(draws))
            world = world.with_vessel(self.pot, empty)
        return self._clock_set(world)

    def _clock_set(self, world: World) -> World:
        """Return the bench with every vessel reckoned up to the present: the clock begins anew."""
        vessels = {name: but(state, at=0.0) for name, state in world.vessels.items()}
        return but(world, now=0.0, vessels=vessels)

    def _beside(self, draws: Draws) -> World:
        """Return the bench once the liquors made beside are ready, each in its own vessel."""
        world = begin(self.plan, draws.n)
        picks = self.picks[: draws.n]
        lots = {name: but(lot, mass=None).columns(picks) for name, lot in self.net.lots.items()}
        world = but(world, lots={**world.lots, **lots})
        for side in self.net.sides:
            for item, share in side.steps:
                world = but(world, now=max(world.now, seconds_since(self.plan.start, item.entry.at)))
                world = apply(shared(item.entry, share * self.scale), item.number, world, draws, self.shelf)
            world = settle(side.vessel, world, max(side.until, world.now), draws)
        return world

    def _soaked(self, soak: Soak, number: int, world: World, draws: Draws) -> World:
        e, k = soak.entry, self.scale
        world = self._clock_set(world)
        step = attrs.evolve(e, amount=None if e.marc_of else exact(soak.grams * k, "mass"),
                            liquid_amount=exact(soak.ml * k, "volume"))  # fmt: skip
        if isinstance(draws, Hands):
            draws.say(number, "amount", self.weighed(soak.grams * k, f"soak {number}"))
            draws.say(number, "liquid_amount", self.poured(soak.ml * k, f"soak {number}"))
            draws.say(number, "for", draws.full(e.for_.value))
            if e.temperature is not None:
                draws.say(number, "temperature", draws.full(e.temperature.value))
        world = apply(step, number, world, draws, self.shelf)
        world = but(world, now=e.for_.value + soak.stood)
        before = world.vessels.get(self.pot)
        world = apply(Strain(at=e.at, vessel=e.into, into=self.pot), number - 1, world, draws, self.shelf)
        if soak.share < 1:
            # Only a share of this steep's liquor goes in; the rest is for something else.
            state = world.vessels[self.pot]
            there = Liquor.empty(draws.n) if before is None or e.into == self.pot else before.liquor
            mine = (state.liquor - there) * soak.share
            world = world.with_vessel(self.pot, but(state, liquor=there + mine))
        return world

    def _soaked_in_pot(self, dose: Dose, number: int, world: World, draws: Draws) -> World:
        at = self.plan.start
        if isinstance(draws, Hands):
            draws.say(number, "amount", self.weighed(dose.grams * self.scale, dose.lot))
        add = Add(at=at, into=self.pot, lot=dose.lot, amount=exact(dose.grams * self.scale, "mass"))
        world = apply(add, number, self._clock_set(world), draws, self.shelf)
        rest = Rest(at=at, vessel=self.pot, for_=exact(max(dose.seconds, 1.0), "time"))
        world = apply(rest, number, world, draws, self.shelf)
        return apply(Strain(at=at, vessel=self.pot, into=self.pot), number, world, draws, self.shelf)

    def _brought(self, entry: Bring, number: int, share: float, world: World, draws: Draws) -> World:
        step = attrs.evolve(
            entry, vessel=self.pot, amount=exact(entry.amount.value * share * self.scale, "volume")
        )
        return apply(step, number, world, draws, self.shelf)

    # ------------------------------------------------------------ strength

    def _reduce(self, number: int) -> Reduce:
        del number
        return Reduce(at=self.plan.start, vessel=self.pot, to=exact(1.0, "volume"))

    def _water(self, number: int) -> Add:
        del number
        return Add(at=self.plan.start, into=self.pot, liquid=self.liquid, amount=exact(1.0, "volume"))

    @property
    def liquid(self) -> str:
        """Return the water of this bench: that of the last steep in water."""
        waters = [s.entry.liquid for s in self.net.soaks if "water" in s.entry.liquid]
        return waters[-1] if waters else "water"

    def to_volume(
        self, world: World, ml: Array, boil: int = BOIL, thin: int = THIN, *, by_level: bool = False
    ) -> World:
        """Return the bench with the pot boiled down, or thinned with water, to so many ml, (N,).

        ``by_level`` is for a maker who watches a level: it is read hot or cold, and overrun.
        """
        here = self.draws
        world = self._clock_set(world)
        state = world.vessels[self.pot]
        now = composition.volume(state.liquor, state.temperature)
        lower = np.minimum(ml, now)
        if not by_level:
            lower = lower / (read_hot(here) * here.of(f"entry:{boil}/level", "pot.level"))
        here.say(boil, "to", np.where(ml < now, lower, 2 * now))
        world = apply(self._reduce(boil), boil, world, here, self.shelf)
        state = world.vessels[self.pot]
        short = np.maximum(ml - composition.volume(state.liquor, state.temperature), 0.0)
        here.say(thin, "amount", np.where(ml > now, short, 0.0))
        world = apply(self._water(thin), thin, self._clock_set(world), here, self.shelf)
        return self._clock_set(world)

    def strong(self, rule: Rule, marks: Marks) -> World:
        """Return the bench once the strained liquor is as strong as the rule says."""
        key = ("strong", rule.strength, rule.more_strength)
        if key not in self._kept:
            self._kept[key] = self._strong(rule, marks)
        kept: World = self._kept[key]
        return kept

    def _strong(self, rule: Rule, marks: Marks) -> World:
        world = self.strained()
        if rule.strength == FREE:
            wanted = marks.volume * self.scale / rule.more_strength
            return self.to_volume(world, self.poured(wanted, "level"), by_level=self.errs)
        state = world.vessels[self.pot]
        full = composition.volume(state.liquor, state.temperature)
        read = READINGS[rule.strength]
        wanted = stronger(rule.strength, marks.strength[rule.strength], rule.more_strength)
        goal = wanted - self.read(rule.strength, "strength")

        def shown(ml: Array) -> Array:
            return read(self.to_volume(world, ml).vessels[self.pot], self.draws, self.eye) - goal

        return self.to_volume(world, halved(shown, _LEAST * full, _MOST * full, falls=True))

    # ------------------------------------------------------------ doses

    def _poured_beside(self, world: World, rule: Rule, marks: Marks) -> tuple[World, Array]:
        """Return the bench with the liquors made beside poured in, and the share of them that was, (N,)."""
        ml = np.exp(READINGS["volume"](world.vessels[self.pot], self.draws, self.eye))
        if rule.iron == "strip":
            goal = marks.strip - self._seen("strip", "for the liquor beside")

            def shown(share: Array) -> Array:
                there = self._with_beside(world, share).vessels[self.pot]
                return READINGS["strip"](there, self.draws, self.eye) - goal

            one = np.ones(self.draws.n)
            share = halved(shown, one / 1000, one, falls=False)
        elif rule.iron == "weight":
            share = np.ones(self.draws.n)
        else:
            read = ml * np.exp(self.read("volume", "for the liquor beside"))
            share = np.minimum(rule.more_iron * read / (marks.volume * self.scale), 1.0)
        return self._with_beside(world, share), share

    def _with_beside(self, world: World, share: Array) -> World:
        """Return the bench with a share of every liquor made beside in the pot, (N,)."""
        for side in self.net.sides:
            state, there = world.vessels[self.pot], world.vessels[side.vessel]
            world = world.with_vessel(self.pot, poured_into(state, there, there.liquor * share))
        return world

    def _add(self, dose: Dose) -> Add:
        return Add(at=self.plan.start, into=self.pot, lot=dose.lot, amount=exact(1.0, "mass"))

    def dosed(self, world: World, doses: Mapping[str, Array]) -> World:
        """Return the bench with so many grams of some lots stirred into the pot, (N,) each."""
        for i, dose in enumerate(self.net.doses):
            if dose.lot in doses:
                number = DOSES - i
                self.draws.say(number, "amount", doses[dose.lot])
                world = apply(self._add(dose), number, world, self.draws, self.shelf)
        return world

    def amounts(self, world: World, role: str, how: str, factor: float, marks: Marks) -> dict[str, Array]:
        """Return the grams of each lot of a role that a rule asks for on each draw, (N,), errors included."""
        mine = self.net.dosed(role)
        state = world.vessels[self.pot]
        full: Array = np.full(self.draws.n, factor * self.scale)
        if how in ("strip", "discharge"):
            return self._until(world, mine, how, marks)
        if how != "weight":
            ml = np.exp(READINGS["volume"](state, self.draws, self.eye) + self.read("volume", "for doses"))
            full = factor * ml / marks.volume
        if how == "dry_residue":
            per_litre = READINGS["dry_residue"](state, self.draws, self.eye) + self.read(
                "dry_residue", "for doses"
            )
            full = full * np.exp(per_litre) / marks.residue
        return {d.lot: self.weighed(full * d.grams, d.lot) for d in mine}

    def _until(self, world: World, mine: tuple[Dose, ...], how: str, marks: Marks) -> dict[str, Array]:
        """Return the grams at which a reading shows what it should."""
        read = READINGS[how]
        ml = np.exp(READINGS["volume"](world.vessels[self.pot], self.draws, self.eye))
        share = ml / marks.volume
        goal = (marks.strip if how == "strip" else marks.discharge) - self._seen(how, f"for {mine[0].role}")

        def shown(times: Array) -> Array:
            there = self.dosed(world, {d.lot: times * share * d.grams for d in mine})
            return read(there.vessels[self.pot], self.draws, self.eye) - goal

        most = np.full(self.draws.n, _MOST_DOSE)
        times = halved(shown, most / 1000, most, falls=False)
        return {d.lot: times * share * d.grams for d in mine}

    def _seen(self, how: str, place: str) -> Array:
        """Return the error of a reading of the finished ink, drops' luck included, (N,)."""
        off: Array = self.read(how, place)
        if how == "strip":
            off = off + self.off(f"drops {place}") * self.luck * self._strip_of_first() / np.sqrt(
                drops_laid()
            )
        return off

    def _strip_of_first(self) -> float:
        """Return the density that thinned drops of the first ink have, at the median."""
        if "strip" not in self._kept:
            state = self.first
            self._kept["strip"] = float(np.median(READINGS["strip"](state, self.draws, self.eye)))
        return float(self._kept["strip"])

    def _rested(self, world: World, draws: Draws) -> World:
        if self.net.rest < 60:
            return world
        rest = Rest(at=self.plan.start, vessel=self.pot, for_=exact(self.net.rest, "time"), covered=True)
        return self._clock_set(apply(rest, REST, world, draws, self.shelf))

    # ------------------------------------------------------------ the whole

    def of_first(self) -> Made:
        """Return the first ink itself as it stands against the limits."""
        none = np.zeros(self.draws.n)
        return self.judged(self.first, self.first, self.first, {}, none)

    def scaled(self, times: float) -> Kitchen:
        """Return the same with so many times the first ink's amounts."""
        return attrs.evolve(self, scale=times, kept={})

    def follow(self, rule: Rule, marks: Marks) -> Made:
        """Return what comes of a recipe followed by a rule."""
        strained = self.strained().vessels[self.pot]
        world = self.strong(rule, marks)
        boiled = world.vessels[self.pot]
        doses: dict[str, Array] = {}
        poured = np.ones(self.draws.n)
        if self.net.sides:
            world, poured = self._poured_beside(world, rule, marks)
        roles = tuple(
            dict.fromkeys(d.role for d in self.net.doses if d.role not in ("tannin", "iron salt", "gum"))
        )
        for role in roles:
            doses |= self.amounts(world, role, "volume" if rule.iron != "weight" else "weight", 1.0, marks)
        world = self.dosed(world, doses)
        for role, how, factor in (("iron salt", rule.iron, rule.more_iron), ("gum", rule.gum, 1.0)):
            if self.net.dosed(role):
                mine = self.amounts(world, role, how, factor, marks)
                world, doses = self.dosed(world, mine), {**doses, **mine}
        world = self._rested(world, self.draws)
        before = composition.volume(world.vessels[self.pot].liquor, world.vessels[self.pot].temperature)
        if rule.trim:
            world = self._trimmed(world, rule.trim, marks)
        state = world.vessels[self.pot]
        ml = composition.volume(state.liquor, state.temperature)
        made = self.judged(state, boiled, strained, doses, ml - before)
        return attrs.evolve(made, poured=poured)

    def _trimmed(self, world: World, how: str, marks: Marks) -> World:
        state = world.vessels[self.pot]
        full = composition.volume(state.liquor, state.temperature)
        goal = (marks.strip if how == "strip" else marks.discharge) - self._seen(how, "trim")
        read = READINGS[how]

        def shown(ml: Array) -> Array:
            there = self.to_volume(world, ml, TRIM, TRIM_WATER)
            return read(there.vessels[self.pot], self.draws, self.eye) - goal

        return self.to_volume(world, halved(shown, full / 3, full * 3, falls=True), TRIM, TRIM_WATER)

    def judged(
        self,
        state: VesselState,
        boiled: VesselState,
        strained: VesselState,
        doses: Mapping[str, Array],
        trimmed: Array,
    ) -> Made:
        """Return an ink as it stands against the first one and the limits."""
        here, hand = self.draws, self.eye.hand
        cold = warmth.room(here)
        cool = but(state, temperature=cold)
        thick = seen.viscosity(cool.liquor, cold, here)
        mine = dry_stroke(cool, hand, self.plan, self.eye.reflectance, here, viscosity=thick).density
        lab = strokes.lab_on(mine, strokes.bare_rgb(self.eye.reflectance))
        held = composition.dry_binding(cool.liquor, here)
        ratio = binding.iron_to_capacity(held.iron, held.capacity)
        pen = f"pens.{hand.pen_kind or 'goose-quill'}"
        return Made(
            state=cool,
            boiled=boiled,
            strained=composition.volume(strained.liquor, strained.temperature),
            doses=doses,
            trimmed=trimmed,
            distance=np.asarray(ciede2000(lab, self.lab)),
            viscosity=thick,
            iron_ratio=ratio,
            volume=composition.volume(cool.liquor, cold),
            flow_ok=(thick >= row(f"{pen}.flow_low").value) & (thick <= row(f"{pen}.flow_high").value),
            permanence_ok=ratio <= value("permanence.iron_to_capacity.limit"),
        )
