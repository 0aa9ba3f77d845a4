"""Make again: from an ink that was good, a recipe for new lots of unknown strength."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any

import attrs
import numpy as np

from inkhorn.counsel.again import words
from inkhorn.counsel.again.checkpoints import FREE, LOGARITHMIC, UNITS, error, told
from inkhorn.counsel.again.choose import BY_WEIGHT, Chosen, chance_of, choose
from inkhorn.counsel.again.net import Dose, Net, Side, Soak, net_recipe
from inkhorn.counsel.again.result import Per, Recipe, Step, Until
from inkhorn.counsel.again.rule import Made, Rule
from inkhorn.counsel.plain import amount_words, time_words, volume_figure
from inkhorn.daybook import wire
from inkhorn.daybook.inventory import Thing
from inkhorn.errors import CounselError
from inkhorn.estimate.posterior import Posterior
from inkhorn.handbook.cautions import cautions_for
from inkhorn.handbook.load import value
from inkhorn.replay import composition, dissolve
from inkhorn.replay.steps.heat import simmer_rate

_MOST_ML = 1e6
_BOUGHT = ("iron salt", "pure tannin", "gallic acid", "acid", "chalk", "metallic iron")


def again(
    post: Posterior,
    vessel: str,
    *,
    trial: str | None = None,
    ml: float | None = None,
    elsewhere: Collection[str] = (),
) -> Recipe:
    """Return how to make a vessel's ink again from new lots.

    Parameters
    ----------
    post : Posterior
        The estimate's draws.
    vessel : str
        Whose ink.
    trial : str, optional
        The ink as it was when this trial was written; else as it is.
    ml : float, optional
        How much is wanted; else as much as there is or was.
    elsewhere : collection of str
        Lots that will come from another source than before.

    Raises
    ------
    CounselError
        If the vessel, the trial or a lot is unknown, the vessel is empty or withheld, or the amount is impossible.
    """
    if ml is not None and not 0 < ml <= _MOST_ML:
        raise CounselError(f"{ml:g} ml cannot be made", mend="Say an amount in ml, for instance --ml 500")
    net = net_recipe(post, vessel, trial)
    unknown = sorted(set(elsewhere) - set(net.lots))
    if unknown:
        known = ", ".join(net.lots) or "none"
        raise CounselError(f"{unknown[0]!r} did not go into this ink", mend=f"What did: {known}")
    found = choose(post, net, elsewhere=elsewhere)
    wanted = float(words.plain_number(net.volume)) if ml is None else ml
    return _Writer(post=post, net=net, found=found, ml=wanted).recipe()


@attrs.define(kw_only=True)
class _Writer:
    """Writes a recipe down, scaled to what is wanted."""

    post: Posterior
    net: Net
    found: Chosen
    ml: float
    scale: float = 1.0
    names: dict[str, str] = attrs.field(factory=dict)
    steps: list[Step] = attrs.field(factory=list)

    def recipe(self) -> Recipe:
        """Return the recipe."""
        rule = self.found.best.rule
        short = 100 * value("again.short")
        self.scale = self.ml / max(float(np.percentile(self.found.best.made.volume, short)), 1e-3)
        kitchen = self.found.kitchen.scaled(self.scale)
        made = kitchen.follow(rule, self.found.marks)
        weights = kitchen.follow(BY_WEIGHT, self.found.marks)
        first = kitchen.of_first()
        self._write(rule, made)
        chance, by_weight = chance_of(made), chance_of(weights)
        flow, lasts = float(first.flow_ok.mean()), float(first.permanence_ok.mean())
        return Recipe(
            vessel=self.net.vessel,
            trial=self.net.trial,
            ml=self.ml,
            steps=tuple(self.steps),
            chance=chance,
            by_weight=by_weight,
            first_flow=flow,
            first_permanence=lasts,
            weights=self._by_weight(),
            why=words.why_words(chance, by_weight, flow, lasts, self.found.fold, self.ml),
            keep=self._keep(rule),
            fold=self.found.fold,
            folded=self.net.folded,
            cannot=(*self.net.cannot, *self._too_much(made)),
            same_source=tuple(sorted(self.found.kin)),
            checkpoints=dict(self.found.chances),
        )

    # ------------------------------------------------------------ names and amounts

    def new(self, sort: str, name: str) -> str:
        """Return a name for a new thing like an old one: "sumac-leaf-2"."""
        if name not in self.names:
            taken = {*self.post.problem.plan.shelf.of(sort), *self.names.values()}
            number = 2
            while f"{name}-{number}" in taken:
                number += 1
            self.names[name] = f"{name}-{number}"
        return self.names[name]

    def lot(self, name: str) -> str:
        """Return what a lot is called in the new recipe: one that the bench grew stays itself."""
        return name if self.net.lots[name].holds is not None else self.new("lot", name)

    def thing(self, vessel: str) -> Thing | None:
        """Return what is known of a vessel."""
        return self.post.problem.plan.shelf.vessels.get(vessel)

    def say(
        self,
        entry: Mapping[str, Any],
        sentence: str,
        lots: Iterable[str] = (),
        until: Until | None = None,
        per: Per | None = None,
    ) -> None:
        """Write one step with the cautions that it carries."""
        materials = [self.net.lots[n].material for n in lots if n in self.net.lots]
        # What is bought carries the cautions of its handling; only what is gathered those of gathering.
        bought = any(dissolve.role(m) in _BOUGHT for m in materials)
        handled = {**entry, "kind": "add"} if bought and entry["kind"] == "gather" else entry
        step = Step(
            entry=dict(entry),
            sentence=sentence,
            cautions=cautions_for(handled, materials),
            until=until,
            per=per,
        )
        self.steps.append(step)

    # ------------------------------------------------------------ steps

    def _write(self, rule: Rule, made: Made) -> None:
        for name in self.net.lots:
            self._get(name, made)
        pot = self.new("vessel", self.net.vessel)
        for soak in self.net.soaks:
            self._soak(soak, pot)
        for splash in self.net.splashes:
            amount = f"{words.plain_number(splash.ml * self.scale)} ml"
            poured = {"kind": "add", "into": pot, "liquid": splash.liquid, "amount": amount}
            self.say(poured, f"Pour {amount} of {words.spoken(splash.liquid)} to it.")
        for dose in self.net.dosed("tannin"):
            self._soak_in_pot(dose, pot)
        self._boil(rule, made, pot)
        for side in self.net.sides:
            self._beside(side, rule, made, pot)
        order = sorted(
            self.net.doses,
            key=lambda d: ("iron salt", "gum").index(d.role) if d.role in ("iron salt", "gum") else -1,
        )
        for dose in order:
            if dose.role != "tannin":
                self._dose(dose, rule, made, pot)
        if self.net.rest >= 3600:
            told_time = f"{words.plain_number(self.net.rest / 3600)} h"
            entry: dict[str, Any] = {"kind": "rest", "vessel": pot, "for": told_time, "covered": True}
            self.say(entry, f"Leave it covered for {time_words(self.net.rest)}, as the first ink stood.")
        if rule.trim:
            self._trim(rule, made, pot)

    def _get(self, name: str, made: Made) -> None:
        lot = self.net.lots[name]
        if lot.holds is not None:
            return
        soaked = sum(s.grams for s in self.net.soaks if s.entry.lot == name) + sum(
            d.grams for d in self.net.doses if d.lot == name and d.role == "tannin"
        )
        grams = soaked * self.scale
        if name in made.doses:
            # Enough for nine lots in ten.
            grams += float(np.percentile(made.doses[name], 90))  # numbers-in-code: nine in ten
        grams += sum(self._of_side(side, name) for side in self.net.sides)
        if grams <= 0:
            return
        shelf = self.post.problem.plan.shelf.lots.get(name)
        source = shelf.source if shelf is not None and name in self.found.kin else None
        entry: dict[str, Any] = {
            "kind": "gather",
            "lot": self.lot(name),
            "material": words.spoken(lot.material),
            "amount": f"{words.plain_number(grams)} g",
        }
        if source:
            entry["source"] = source
        prepared = self.net.prepared.get(name, ())
        self.say(entry, words.gather_words(name, grams, lot.material, source, prepared), [name])

    def _of_side(self, side: Side, name: str) -> float:
        total = 0.0
        for item, share in side.steps:
            amount = getattr(item.entry, "amount", None)
            if getattr(item.entry, "lot", None) == name and amount is not None and amount.dimension == "mass":
                total += amount.value * share * self.scale
        return total

    def _soak(self, soak: Soak, pot: str) -> None:
        e, k = soak.entry, self.scale
        tub = self.new("vessel", e.into)
        seconds = e.for_.value + soak.stood
        # numbers-in-code: an hour more or less in a day is not told
        seconds = seconds if soak.stood > 0.1 * e.for_.value else e.for_.value
        hours = f"{words.plain_number(seconds / 3600, 3)} h"
        entry: dict[str, Any] = {"kind": "steep", "into": tub, "liquid": e.liquid, "for": hours,
                                 "liquid_amount": f"{words.plain_number(soak.ml * k)} ml"}  # fmt: skip
        celsius = None if e.temperature is None else e.temperature.value
        if celsius is not None:
            entry["temperature"] = f"{celsius:.0f} degC"
        lots: list[str] = []
        if e.marc_of is not None:
            entry["marc_of"] = self.new("vessel", e.marc_of)
            litres = amount_words(float(words.plain_number(soak.ml * k)), "ml")
            sentence = (
                f"Steep what stayed in the cloth again, in {litres} of {words.spoken(e.liquid)} for "
                f"{time_words(seconds).removeprefix('about ')}."
            )
        else:
            name = str(e.lot)
            lots = [name]
            pieces = e.pieces if isinstance(e.pieces, str) else self.net.lots[name].pieces
            entry |= {
                "lot": self.lot(name),
                "amount": f"{words.plain_number(soak.grams * k)} g",
                "pieces": pieces,
            }
            sentence = words.steep_words(
                name,
                soak.grams * k,
                self.net.lots[name].material,
                soak.ml * k,
                e.liquid,
                seconds,
                celsius,
                pieces,
            )
        self.say(entry, sentence, lots)
        part = "" if soak.share == 1 else f" Take {words.plain_number(100 * soak.share)} % of it."
        self.say(
            {"kind": "strain", "vessel": tub, "into": pot},
            f"Strain it into the {words.spoken(self.net.vessel)}, and keep what stays in the cloth until the ink is done.{part}",
        )

    def _soak_in_pot(self, dose: Dose, pot: str) -> None:
        grams = dose.grams * self.scale
        entry = {
            "kind": "add",
            "into": pot,
            "lot": self.lot(dose.lot),
            "amount": f"{words.plain_number(grams)} g",
        }
        self.say(entry, words.plain_dose_words(dose.lot, grams, self.net.lots[dose.lot].material), [dose.lot])
        seconds = max(dose.seconds, 3600)
        rest = {"kind": "rest", "vessel": pot, "for": f"{words.plain_number(seconds / 3600)} h"}
        self.say(rest, f"Let it soak for {time_words(seconds)}.")
        self.say({"kind": "strain", "vessel": pot, "into": pot}, "Strain it off.")

    def _boil(self, rule: Rule, made: Made, pot: str) -> None:
        if not (self.net.soaks or self.net.splashes or self.net.dosed("tannin") or self.net.brought):
            amount = f"{words.plain_number(self.found.marks.volume * self.scale / rule.more_strength)} ml"
            liquid = self.found.kitchen.liquid
            entry = {"kind": "add", "into": pot, "liquid": liquid, "amount": amount}
            self.say(entry, f"Begin with {amount} of {words.spoken(liquid)}.")
            return
        kitchen = self.found.kitchen
        ml = float(np.median(composition.volume(made.boiled.liquor, made.boiled.temperature)))
        before = float(np.median(made.strained))
        until = self._until_strength(rule)
        checkpoint = words.until_words(
            rule.strength,
            until.value,
            spindle=kitchen.spindle,
            parts=kitchen.eye.parts,
            like="",
            tolerance=until.tolerance,
        )
        boils = ml < before
        seconds = max(before - ml, 0.0) / simmer_rate(before)
        amount = f"about {words.plain_number(ml)} ml"
        step: dict[str, Any] = (
            {"kind": "reduce", "vessel": pot, "to": amount}
            if boils
            else {"kind": "add", "into": pot, "liquid": kitchen.liquid, "up_to": amount}
        )
        self.say(
            step,
            words.boil_words(checkpoint, ml, seconds, self.thing(self.net.vessel), boils=boils),
            (),
            until,
        )

    def _until_strength(self, rule: Rule) -> Until:
        marks, kitchen = self.found.marks, self.found.kitchen
        reading, more = rule.strength, rule.more_strength
        if reading == FREE:
            place = marks.volume * self.scale / more
            return Until(
                reading=reading,
                value=place,
                tolerance=place * error(reading, spindle=kitchen.spindle),
                unit="ml",
            )
        base = told(reading, marks.strength[reading])
        place = (
            1 + (base - 1) * more
            if reading == "specific_gravity"
            else base**more
            if reading == "discharge"
            else base * more
        )
        sd = error(reading, spindle=kitchen.spindle)
        return Until(
            reading=reading,
            value=place,
            tolerance=place * sd if reading in LOGARITHMIC else sd,
            unit=UNITS[reading],
        )

    def _until_ink(self, reading: str) -> Until:
        """Return what drops or the running-out of the finished ink should show."""
        marks, kitchen = self.found.marks, self.found.kitchen
        place = told(reading, float(np.median(marks.strip if reading == "strip" else marks.discharge)))
        sd = error(reading, spindle=kitchen.spindle, beside=kitchen.beside)
        like = ("kept" if self.found.kept else self.found.compared or "") if kitchen.beside else ""
        tolerance = place * sd if reading in LOGARITHMIC else sd
        return Until(reading=reading, value=place, tolerance=tolerance, unit=UNITS[reading], like=like)

    def _checked(self, until: Until) -> str:
        kitchen = self.found.kitchen
        return words.until_words(
            until.reading,
            until.value,
            spindle=kitchen.spindle,
            parts=kitchen.eye.parts,
            like=until.like,
            tolerance=until.tolerance,
        )

    def _dose(self, dose: Dose, rule: Rule, made: Made, pot: str) -> None:
        lot = self.net.lots[dose.lot]
        expected = (
            float(np.median(made.doses[dose.lot])) if dose.lot in made.doses else dose.grams * self.scale
        )
        entry = {
            "kind": "add",
            "into": pot,
            "lot": self.lot(dose.lot),
            "amount": f"{words.plain_number(expected)} g",
        }
        how = rule.iron if dose.role == "iron salt" else rule.gum if dose.role == "gum" else "volume"
        factor = rule.more_iron if dose.role == "iron salt" else 1.0
        if how in ("strip", "discharge"):
            until = self._until_ink(how)
            most = float(np.percentile(made.doses[dose.lot], 95))  # numbers-in-code: nineteen lots in twenty
            sentence = words.until_dose_words(dose.lot, self._checked(until), expected, most, lot.material)
            self.say(entry, sentence, [dose.lot], until)
        elif how == "weight":
            self.say(entry, words.plain_dose_words(dose.lot, expected, lot.material), [dose.lot])
        else:
            per_ml = factor * dose.grams / self.found.marks.volume
            per = Per(reading="volume", grams=per_ml * words.DISH, each=f"{words.DISH:.0f} ml")
            if how == "dry_residue":
                grams = per_ml / self.found.marks.residue * 1000
                per = Per(reading="dry_residue", grams=grams, each="g of dry matter")
            sentence = words.per_words(dose.lot, how, per.grams, expected, lot.material)
            self.say(entry, sentence, [dose.lot], None, per)

    def _trim(self, rule: Rule, made: Made, pot: str) -> None:
        until = self._until_ink(rule.trim)
        more = float(np.median(made.trimmed))
        ml = float(np.median(made.volume))
        entry: dict[str, Any] = (
            {
                "kind": "add",
                "into": pot,
                "liquid": self.found.kitchen.liquid,
                "up_to": f"about {words.plain_number(ml)} ml",
            }
            if more > 0
            else {"kind": "reduce", "vessel": pot, "to": f"about {words.plain_number(ml)} ml"}
        )
        self.say(entry, words.trim_words(self._checked(until)), (), until)

    def _beside(self, side: Side, rule: Rule, made: Made, pot: str) -> None:
        vessel = self.new("vessel", side.vessel)
        for item, share in side.steps:
            entry = {
                k: v for k, v in wire.encode(item.entry).items() if k not in ("at", "who", "note", "picture")
            }
            entry = {k: self._renamed(k, v, share, getattr(item.entry, k, None)) for k, v in entry.items()}
            names = [n for n in self.net.lots if n == getattr(item.entry, "lot", None)]
            detail = ", ".join(f"{k} {v}" for k, v in entry.items() if k not in ("kind", "into", "vessel"))
            self.say(entry, f"In the {words.spoken(side.vessel)}, {item.entry.kind}: {detail}.", names)
        liquor = self.found.kitchen.scaled(self.scale).strained().vessels[side.vessel]
        whole = composition.volume(liquor.liquor, liquor.temperature)
        ml = float(np.median(whole * made.poured))
        pour = {"kind": "pour", "from": vessel, "into": pot, "amount": f"{words.plain_number(ml)} ml"}
        what = f"what is clear in the {words.spoken(side.vessel)}"
        if rule.iron == "strip":
            until = self._until_ink("strip")
            self.say(pour, words.until_poured_words(what, self._checked(until), ml), (), until)
            return
        each = rule.more_iron * float(np.median(whole)) / (self.found.marks.volume * self.scale)
        per = Per(reading="volume", grams=each * words.DISH, each=f"{words.DISH:.0f} ml", unit="ml")
        self.say(pour, words.poured_words(what, per.grams, ml), (), None, per)

    def _renamed(self, key: str, said: Any, share: float, quantity: Any) -> Any:
        if key == "lot" and said in self.net.lots:
            return self.lot(said)
        if key in ("into", "vessel", "from", "marc_of"):
            return self.new("vessel", said)
        if key in ("amount", "liquid_amount") and getattr(quantity, "dimension", "") in ("mass", "volume"):
            return f"{words.plain_number(quantity.value * share * self.scale)} {quantity.unit}"
        return said

    # ------------------------------------------------------------ around it

    def _by_weight(self) -> str:
        k = self.scale
        parts = [
            f"{words.plain_number(soak.grams * k)} g of {words.spoken(str(soak.entry.lot))} in "
            f"{words.plain_number(soak.ml * k)} ml"
            for soak in self.net.soaks
            if soak.grams
        ]
        strained = float(
            np.median(self.found.kitchen.scaled(k).strained().vessels[self.net.vessel].liquor["water"])
        )
        way = "boiled" if strained > self.found.marks.volume * k else "thinned"
        parts.append(f"{way} to {words.plain_number(self.found.marks.volume * k)} ml")
        parts += [
            f"{words.plain_number(d.grams * k)} g of {words.spoken(d.lot)}"
            for d in self.net.doses
            if d.role != "tannin"
        ]
        return ", ".join(parts)

    def _keep(self, rule: Rule) -> str:
        if not self.found.kept or not {"strip", "discharge"} & set(rule.readings):
            return ""
        parts = self.found.kitchen.eye.parts
        how = "undiluted" if parts == 1 else f"thinned with water one part in {parts}"
        todo = []
        if "strip" in rule.readings:
            todo.append(
                f"lay three drops of the ink you have, {how}, on the skin you write on, let them dry and keep them in the dark"
            )
        if "discharge" in rule.readings:
            todo.append(
                "time how long it and water take to run out of one syringe or pin-holed cup, and write both down"
            )
        return "Before the first ink is gone: " + "; ".join(todo) + "."

    def _too_much(self, made: Made) -> list[str]:
        out = []
        for name in dict.fromkeys((*(s.entry.into for s in self.net.soaks), self.net.vessel)):
            thing = self.thing(name)
            need = max((s.ml * self.scale for s in self.net.soaks if s.entry.into == name), default=0.0)
            if name == self.net.vessel:
                need = max(need, float(np.median(made.strained)))
            if thing is not None and thing.capacity is not None and need > thing.capacity.value:
                out.append(
                    f"all of it in one go, as {volume_figure(float(words.plain_number(need)))} do not go into the "
                    f"{words.spoken(name)}, which holds {volume_figure(float(words.plain_number(thing.capacity.value)))}: "
                    "use a larger vessel, or make it in parts"
                )
        return out
