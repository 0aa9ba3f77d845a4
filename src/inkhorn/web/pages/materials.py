"""The materials: where each lot came from, how much is left, what is believed of it; and what is written on and with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from inkhorn.counsel.plain import spoon_words
from inkhorn.daybook.inventory import Thing
from inkhorn.daybook.names import said
from inkhorn.report import lines, words
from inkhorn.web.frame import render, room_of
from inkhorn.web.swatch import hex_of, skin

_STRENGTH = {
    "tannin_fraction": "tannin",
    "iron_fraction": "iron",
    "gum_soluble": "gum that dissolves",
}
_GAVE = (("source", "from"), ("part", "part"), ("age", "age"), ("leave", "leave"))


def materials(request: Request) -> Response:
    """Show the lots, the supports and the pens."""
    room = room_of(request)
    now = room.now()
    estimate = room.estimate(now.after)
    known: Mapping[str, Any] = (estimate.value or {}).get("lots", {})
    ess = (estimate.value or {}).get("ess")
    lots = [_lot(thing, known.get(name, {}), ess) for name, thing in now.things.lots.items()]
    return render(
        request,
        "materials.html",
        "materials",
        {
            "lots": lots,
            "supports": [_support(thing) for thing in now.things.supports.values()],
            "pens": [_pen(thing) for thing in now.things.pens.values()],
            "estimate": estimate,
            "working": estimate.working,
        },
    )


def _lot(thing: Thing, figures: Mapping[str, Any], ess: float | None) -> dict[str, Any]:
    left = figures.get("mass_left")
    return {
        "name": thing.name,
        "material": said(thing.material or ""),
        "created": thing.created_by,
        "implied": thing.implied,
        "when": lines.when({"at": thing.at.isoformat(timespec="minutes")}).partition(",")[0],
        "gathered": thing.amount.text if thing.amount is not None else "",
        "gave": [(label, getattr(thing, key)) for key, label in _GAVE if getattr(thing, key)],
        "left": words.about(left, ess) if left else "",
        "left_surely": words.surely(left, ess) if left else "",
        "spoons": _spoons(left, thing.material),
        "share": _share(thing, left),
        "strength": [_strength(key, figures[key], ess) for key in _STRENGTH if figures.get(key)],
    }


def _spoons(left: Mapping[str, Any] | None, material: str | None) -> str:
    """Return what is left in spoons and cups, where that is how one would take it."""
    return (spoon_words(float(left["median"]), material) or "") if left else ""


def _share(thing: Thing, left: Mapping[str, Any] | None) -> float | None:
    """Return how much of what was gathered is left, 0 to 1, where that is known."""
    if left is None or thing.amount is None or thing.amount.unit != "g" or thing.amount.value <= 0:
        return None
    return min(max(float(left["median"]) / thing.amount.value, 0), 1)


def _strength(key: str, figure: Mapping[str, Any], ess: float | None) -> str:
    percent = {k: 100 * float(v) for k, v in figure.items() if k != "unit"} | {"unit": "%"}
    return f"{_STRENGTH[key]} {words.phrase(percent, ess).replace(' %', ' percent')}"


def _support(thing: Thing) -> dict[str, Any]:
    parts = [said(thing.material or ""), f"{thing.side} side" if thing.side else "", thing.preparation or ""]
    return {
        "name": thing.name,
        "says": ", ".join(part for part in parts if part),
        "colour": hex_of(skin(thing.material)) if thing.material else "",
        "created": thing.created_by,
    }


def _pen(thing: Thing) -> dict[str, Any]:
    width = f"{thing.width.text} wide" if thing.width is not None else ""
    return {
        "name": thing.name,
        "says": ", ".join(part for part in (said(thing.material or ""), width) if part),
        "created": thing.created_by,
    }
