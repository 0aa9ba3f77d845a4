"""Acid, iron binding and thickness in the invented truth: other laws than the model's.

Binding is a Hill isotherm on two kinds of site that share one free iron (in some
variants Toth's); pH is a charge balance in apparent (concentration) constants;
thickness is Krieger and Dougherty's law for a suspension of swollen gum (in some
variants Eilers's). None of it is shared with the floors that estimate.
"""

from __future__ import annotations

import math

import attrs
from scipy.optimize import brentq

from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import GUMS, Liquor, volume

_GALLIC = 170.12  # numbers-in-code: molar mass of gallic acid, IUPAC


@attrs.frozen(kw_only=True)
class Bound:
    """Where the iron of a dry film ends: moles on blue sites, on green sites, and on none."""

    blue: float
    green: float
    free: float


def sites(liquor: Liquor, n: Draws) -> tuple[float, float]:
    """Return moles of iron that the trihydroxy (blue) and dihydroxy (green) sites can hold."""
    blue = sum(liquor[t] * n(f"sites.{t}") for t in ("gallotannin", "gallic", "ellagi"))
    return blue, liquor["condensed"] * n("sites.condensed")


def bind(
    iron: float,
    blue: float,
    green: float,
    *,
    hold_blue: float,
    hold_green: float,
    hill: float,
    toth: float = 0,
) -> Bound:
    """Share iron over the sites by ``b/S = (K f/S)^h / (1 + (K f/S)^h)``, f the free iron, S all sites.

    With ``toth`` above 0 by Toth's isotherm, ``x / (1 + x^t)^(1/t)`` with ``x = K f/S``: sites of many strengths
    (J. Toth, Acta Chimica Academiae Scientiarum Hungaricae 69 (1971) 311).
    """
    total = blue + green
    if iron <= 0 or total <= 0:
        return Bound(blue=0.0, green=0.0, free=max(iron, 0.0))

    def on(hold: float, free: float) -> float:
        if toth > 0:
            x = hold * free / total
            return float(x / (1.0 + x**toth) ** (1.0 / toth))
        power = (hold * free / total) ** hill
        return float(power / (1.0 + power))

    def excess(free: float) -> float:
        return free + blue * on(hold_blue, free) + green * on(hold_green, free) - iron

    free = float(brentq(excess, 0.0, iron, xtol=1e-14 * iron))
    return Bound(blue=blue * on(hold_blue, free), green=green * on(hold_green, free), free=free)


def bound(liquor: Liquor, n: Draws) -> Bound:
    """Return where the iron of a liquor would end in its dry film."""
    blue, green = sites(liquor, n)
    laws = {"hold_blue": n("sites.hold_blue"), "hold_green": n("sites.hold_green"), "hill": n("sites.hill")}
    if n("law.binding") > 0:
        laws["toth"] = n("sites.toth")
    return bind(liquor.iron(), blue, green, **laws)


def litres(liquor: Liquor, n: Draws) -> float:
    """Return the volume in litres."""
    return millilitres(liquor, n) / 1000.0


def millilitres(liquor: Liquor, n: Draws) -> float:
    """Return the volume in ml."""
    return volume(liquor, organic=n("density.tannin"), salts=n("density.salts"), spirit=n("density.spirit"))


def ph(liquor: Liquor, n: Draws) -> float:
    """Return the pH at which the charges balance, open to the air above pH 5."""
    room = litres(liquor, n)
    if room <= 0:
        return 7.0
    c = {
        k: liquor[k] / room
        for k in ("iron2", "iron3", "sulfate", "chloride", "calcium", "base", "acetic", "plant")
    }
    gallic = liquor["gallic"] / _GALLIC / room
    carbon = liquor["carbonate"] / room

    def half(pk: float, at: float) -> float:
        return float(1.0 / (1.0 + 10.0 ** (pk - at)))

    def charge(at: float) -> float:
        ferric = 3.0 - n("acid.ferric_step") * half(n("acid.ferric"), at)
        return float(
            10.0**-at
            - 10.0 ** (at - 14.0)
            + 2 * c["iron2"]
            + ferric * c["iron3"]
            + 2 * c["calcium"]
            + c["base"]
            - c["chloride"]
            - c["sulfate"] * (1.0 + half(n("acid.bisulfate"), at))
            - c["acetic"] * half(n("acid.acetic"), at)
            - c["plant"] * half(n("acid.plant"), at)
            - gallic * half(n("acid.gallic"), at)
            - carbon * half(n("acid.carbonic"), at)
        )

    low, high = -1.0, 13.0
    if charge(low) < 0:
        return low
    return high if charge(high) > 0 else float(brentq(charge, low, high))


def water_viscosity(celsius: float, n: Draws) -> float:
    """Return the viscosity of water in mPa s by Vogel's equation."""
    return math.exp(n("flow.vogel_a") + n("flow.vogel_b") / (celsius + 273.15 + n("flow.vogel_c")))


def viscosity(liquor: Liquor, n: Draws, *, celsius: float | None = None) -> float:
    """Return the viscosity in mPa s: ``w (1 - phi/m)^(-e m)`` of the swollen volume share phi (Krieger)."""
    room = millilitres(liquor, n)
    base = water_viscosity(liquor.temperature if celsius is None else celsius, n)
    if room <= 0:
        return base
    fat = sum(liquor[g] * liquor.swell.get(g, n(f"flow.{g}")) for g in GUMS)
    phi = (fat + liquor["gel"] * n("flow.gel") + liquor.organic() * n("flow.solids")) / room
    packing = n("flow.packing")
    # Beyond three quarters of the packing the law runs to infinity: let the gum give way instead.
    full = phi / packing if phi < 0.75 * packing else 0.75 + 0.2 * math.tanh(phi / packing - 0.75)
    if n("law.thickness") > 0:
        # Eilers: (1 + (e/2) phi / (1 - phi/m))^2 (H. Eilers, Kolloid-Zeitschrift 97 (1941) 313).
        return float(base * (1.0 + n("flow.einstein") / 2 * full * packing / (1.0 - full)) ** 2)
    return float(base * (1.0 - full) ** (-n("flow.einstein") * packing))
