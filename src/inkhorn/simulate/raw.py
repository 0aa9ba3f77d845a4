"""The truth of raw materials: what a gram of a lot, or of a bought liquid, really holds."""

from __future__ import annotations

from inkhorn.handbook.load import group, row, rows
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import Liquor
from inkhorn.simulate.things import Lot

_FERROUS, _SULFURIC, _HYDROCHLORIC = 55.845, 98.07, 36.46  # numbers-in-code: molar masses, IUPAC
_CHALK = 100.09  # numbers-in-code: molar mass, IUPAC
_KINDS = {"gum-arabic": "arabic", "plum-gum": "plum", "cherry-gum": "cherry"}
_FORMS = {"rind": "fruit"}


def lot_of(material: str, name: str, grams: float, n: Draws) -> Lot:
    """Return a new lot with its truth drawn under its own name."""
    node = group(f"materials.{material}")
    role = str(node["role"])
    key = f"{name}:{material}"
    holds = _HOLDS[_sort(role, material)](material, key, n)
    bulk = n.widened(f"materials.{material}.bulk_density", key) if _has(material, "bulk_density") else 1.0
    form = str(node.get("form", ""))
    return Lot(
        material=material, role=_sort(role, material), mass=grams, at_first=grams, holds=holds, bulk=bulk,
        pieces="broken" if form in {"bark", "leaf"} else "crushed",
    )  # fmt: skip


def _has(material: str, field: str) -> bool:
    return f"materials.{material}.{field}" in rows()


def _sort(role: str, material: str) -> str:
    if material in {"tannic-acid", "gallic-acid", "gallic-acid-monohydrate"}:
        return "pure"
    names = {"tannin": "plant", "iron salt": "iron salt", "sulfide": "sulfide", "metallic iron": "metal"}
    return names.get(role, role)


def _clip(x: float) -> float:
    return min(max(x, 0.0), 0.97)


def _plant(material: str, key: str, n: Draws) -> dict[str, float]:
    def book(field: str) -> float:
        return n.widened(f"materials.{material}.{field}", key)

    tannin = _clip(book("tannin") * n("lot.tannin_shift", key))
    blue, gallo = tannin * _clip(book("pyrogallol_share")), _clip(book("gallo_share"))
    return {
        "moisture": _clip(book("moisture") * n("lot.moisture_shift", key)),
        "gallotannin": blue * gallo,
        "ellagi": blue * (1.0 - gallo),
        "condensed": tannin - blue,
        "gallic": tannin * book("gallic"),
        "other": tannin * (1.0 / max(_clip(book("purity")), 0.1) - 1.0),
        "brown": n("lot.browned", key) * tannin,
    }


def _iron_salt(material: str, key: str, n: Draws) -> dict[str, float]:
    iron = n.widened(f"materials.{material}.iron", key) * n("lot.iron_shift", key)
    ferric = min(n.widened(f"materials.{material}.ferric", key), 0.4)
    acid = min(n.widened(f"materials.{material}.acid", key), 0.3) / _SULFURIC
    inert = min(n.widened(f"materials.{material}.inert", key), 0.4)
    moles = iron / _FERROUS * (1.0 - inert)
    two, three = moles * (1.0 - ferric), moles * ferric
    return {"iron2": two, "iron3": three, "sulfate": two + 1.5 * three + acid, "sludge": inert}


def _gum(material: str, key: str, n: Draws) -> dict[str, float]:
    dry = 1.0 - _clip(n.widened(f"materials.{material}.moisture", key))
    soluble = min(_clip(n.widened(f"materials.{material}.soluble", key)) * n("lot.gum_shift", key), 0.99)
    kind = _KINDS[material]
    return {"dissolving": dry * soluble, "gel": dry * (1.0 - soluble), "swell": n(f"flow.{kind}", key)}


def _pure(material: str, key: str, n: Draws) -> dict[str, float]:
    del key, n
    purity = row(f"materials.{material}.purity").value
    part = "gallotannin" if material == "tannic-acid" else "gallic"
    return {"moisture": 1.0 - purity, part: purity}


def _acid(material: str, key: str, n: Draws) -> dict[str, float]:
    share = n.widened(f"materials.{material}.fraction", key)
    if material.startswith("hydrochloric"):
        return {"chloride": share / _HYDROCHLORIC, "water": 1.0 - share}
    return {"sulfate": min(share, 0.99) / _SULFURIC, "water": 1.0 - min(share, 0.99)}


def _chalk(material: str, key: str, n: Draws) -> dict[str, float]:
    share = min(n.widened(f"materials.{material}.fraction", key), 1.0) / _CHALK
    return {"calcium": share, "carbonate": share}


def _sulfide(material: str, key: str, n: Draws) -> dict[str, float]:
    del material
    return {"iron": n("lot.sulfide_iron", key), "crust": n("iron.crust", key)}


def _metal(material: str, key: str, n: Draws) -> dict[str, float]:
    del material
    return {"iron": n("lot.metal_iron", key)}


_HOLDS = {
    "plant": _plant,
    "iron salt": _iron_salt,
    "gum": _gum,
    "pure": _pure,
    "acid": _acid,
    "chalk": _chalk,
    "sulfide": _sulfide,
    "metal": _metal,
}


def gum_kind(material: str) -> str:
    """Return "arabic", "plum" or "cherry"."""
    return _KINDS[material]


def form_of(material: str) -> str:
    """Return the form of a plant material that sets its extraction."""
    form = str(group(f"materials.{material}").get("form", "bark"))
    return _FORMS.get(form, form)


def liquid_of(key: str, ml: float, n: Draws, *, celsius: float) -> Liquor:
    """Return millilitres of a liquid that needs no gathering, with the truth of this place's water."""
    litres = ml / 1000.0

    def book(field: str) -> float:
        name = f"liquids.{key}.{field}"
        return n.widened(name, key) if name in rows() else 0.0

    calcium, alkalinity = book("calcium") / 1000.0, book("alkalinity") / 1000.0
    ethanol, solids = book("ethanol"), book("solids")
    out = Liquor(temperature=celsius)
    out.gain(
        water=max(998.2 - 1.2 * ethanol - 0.62 * solids, 0.0) * litres,
        ethanol=ethanol * litres,
        acetic=book("acetic") * litres,
        other=solids * litres,
        calcium=calcium * litres,
        carbonate=alkalinity * litres,
        base=(alkalinity - 2 * calcium) * litres,
        plant=n("acid.plant_wine") * solids * litres,
    )
    return out


def liquid_lot(key: str, n: Draws) -> Lot:
    """Return a bought liquid kept as a lot: what a gram of it holds."""
    litre = liquid_of(key, 1000.0, n, celsius=n("air.room"))
    whole = litre.mass()
    holds = {part: amount / whole for part, amount in litre.amounts.items() if amount}
    return Lot(material=key, role="liquid", mass=0.0, at_first=0.0, holds=holds, bulk=whole / 1000.0)
