"""What is in a pot of the invented truth: plain amounts that add when pots are poured together."""

from __future__ import annotations

import math
from collections.abc import Mapping

import attrs

GUMS = ("arabic", "plum", "cherry")
TANNINS = ("gallotannin", "gallic", "ellagi", "condensed")
#: Grams of each (water .. gel), then moles (iron2 .. plant), in a liquor.
GRAMS = ("water", "ethanol", *TANNINS, "other", "brown", *GUMS, *(f"lump_{g}" for g in GUMS), "gel", "sludge")
MOLES = ("iron2", "iron3", "sulfate", "chloride", "calcium", "carbonate", "base", "acetic", "plant")
PARTS = GRAMS + MOLES
#: Grams a mole of the salts (IUPAC standard atomic masses); plant acids are within "other".
MOLAR: Mapping[str, float] = {
    "iron2": 55.845,
    "iron3": 55.845,
    "sulfate": 96.06,
    "chloride": 35.45,
    "calcium": 40.078,
    "carbonate": 60.008,
    "base": 39.098,
    "acetic": 60.052,
}


@attrs.define(kw_only=True)
class Liquor:
    """Amounts (grams and moles, see `PARTS`), temperature (degC) and the swell of each gum (ml/g)."""

    amounts: dict[str, float] = attrs.field(factory=lambda: dict.fromkeys(PARTS, 0.0))
    temperature: float = 20.0
    swell: dict[str, float] = attrs.field(factory=dict)

    def __getitem__(self, part: str) -> float:
        return self.amounts[part]

    def gain(self, **parts: float) -> None:
        """Add amounts, which may be negative but never take a part below nothing (base may be)."""
        for part, amount in parts.items():
            new = self.amounts[part] + amount
            self.amounts[part] = new if part == "base" else max(new, 0.0)

    def scale(self, factor: float, parts: tuple[str, ...] = PARTS) -> None:
        """Multiply some parts by a factor."""
        for part in parts:
            self.amounts[part] *= factor

    def take(self, share: float) -> Liquor:
        """Take a share (0 to 1) out and return it."""
        share = min(max(share, 0.0), 1.0)
        out = Liquor(
            amounts={p: a * share for p, a in self.amounts.items()},
            temperature=self.temperature,
            swell=dict(self.swell),
        )
        self.scale(1.0 - share)
        return out

    def put(self, other: Liquor) -> None:
        """Pour another liquor in; temperatures and the gums' swell mix by amount."""
        mine, theirs = self.mass(), other.mass()
        if mine + theirs > 0:
            self.temperature = (mine * self.temperature + theirs * other.temperature) / (mine + theirs)
        for gum in GUMS:
            self._blend(gum, other.gum_of(gum), other.swell.get(gum))
        for part, amount in other.amounts.items():
            self.amounts[part] += amount

    def _blend(self, gum: str, grams: float, swell: float | None) -> None:
        if swell is None or grams <= 0:
            return
        have = self.gum_of(gum)
        old = self.swell.get(gum, swell)
        self.swell[gum] = (have * old + grams * swell) / (have + grams)

    def add_gum(self, gum: str, *, dissolving: float, gel: float, swell: float) -> None:
        """Throw gum in: a lump that will dissolve, and the part that only swells."""
        self._blend(gum, dissolving, swell)
        self.gain(**{f"lump_{gum}": dissolving, "gel": gel})

    def gum_of(self, gum: str) -> float:
        """Return grams of one gum that can dissolve, dissolved or not."""
        return self.amounts[gum] + self.amounts[f"lump_{gum}"]

    def gum(self) -> float:
        """Return grams of dissolved gum."""
        return sum(self.amounts[g] for g in GUMS)

    def all_gum(self) -> float:
        """Return grams of gum in all: dissolved, swollen and still in lumps."""
        return sum(self.gum_of(g) for g in GUMS) + self["gel"]

    def salts(self) -> float:
        """Return grams of dissolved salts and acids, as ions."""
        return sum(self.amounts[p] * m for p, m in MOLAR.items() if self.amounts[p] > 0)

    def organic(self) -> float:
        """Return grams of dissolved plant matter without gum."""
        return sum(self.amounts[p] for p in (*TANNINS, "other", "brown"))

    def solids(self) -> float:
        """Return grams of all that stays when the liquor dries, sludge and lumps apart."""
        return (
            self.organic()
            + self.gum()
            + self.amounts["gel"]
            + self.salts()
            - self["acetic"] * MOLAR["acetic"]
        )

    def iron(self) -> float:
        """Return moles of iron."""
        return self.amounts["iron2"] + self.amounts["iron3"]

    def mass(self) -> float:
        """Return grams in all."""
        return sum(self.amounts[p] for p in GRAMS) + self.salts()


def water_density(celsius: float) -> float:
    """Return the density of water, g/ml: a parabola about its densest point, good to 0.1 % to 100 degC."""
    # numbers-in-code: a plain fit of the truth's own to steam-table values (1.000 at 4, 0.9982 at 20, 0.9584 at 100)
    return 1.0 - 6.2e-6 * (celsius - 4.0) ** 2 / (1.0 + 0.0045 * (celsius - 4.0))


def volume(liquor: Liquor, *, organic: float, salts: float, spirit: float) -> float:
    """Return the volume in ml from the specific volumes (ml/g) of what is dissolved."""
    plant = liquor.organic() + liquor.gum() + liquor["gel"] + sum(liquor[f"lump_{g}"] for g in GUMS)
    return (
        liquor["water"] / water_density(liquor.temperature)
        + organic * (plant + liquor["sludge"])
        + salts * liquor.salts()
        + spirit * liquor["ethanol"]
    )


def cool(start: float, room: float, hours: float, constant: float) -> float:
    """Return the temperature after cooling to the room (Newton's law)."""
    return room + (start - room) * math.exp(-hours / constant)
