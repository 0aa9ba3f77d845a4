"""One vessel of the estimate in plain words, for the command, the page and the dossier."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeGuard

from inkhorn.report import words

# What a maker calls each figure of the estimate, in the order in which it is
# asked at the bench.  The key stays visible in the JSON answer.
SPOKEN: dict[str, str] = {
    "volume": "in it",
    "iron_to_capacity": "iron for what the tannin can hold",
    "free_iron": "iron that no tannin holds",
    "iron_total": "iron in all",
    "iron_capacity": "iron that the tannin can hold",
    "ph": "sourness (pH)",
    "acid_to_chalk": "skin's chalk that its acid uses",
    "viscosity": "thickness",
    "gum": "gum",
    "dissolved_solids": "all that is dissolved",
    "specific_gravity": "weight against water",
    "temperature": "warmth",
}

_FIRST = ("iron_to_capacity", "viscosity", "ph", "gum")


def holds(vessel: Mapping[str, Any]) -> bool:
    """Tell whether an estimate says that there may be as much as a millilitre in a vessel."""
    return float((vessel.get("volume") or {}).get("p95", 0)) >= 1


def _is_known(figure: Any) -> TypeGuard[Mapping[str, Any]]:
    """Tell whether a figure has numbers: the ratio of iron to no tannin has none."""
    ends = ("median", "p05", "p95")
    return isinstance(figure, Mapping) and all(figure.get(key) is not None for key in ends)


def rows(vessel: Mapping[str, Any], ess: float | None = None) -> list[tuple[str, str, str]]:
    """Return (what, about, surely between) for each plain figure of one vessel, in the order of `SPOKEN`.

    The two columns are meant to stand under those two headings. ``ess`` says
    how many independent draws the figures rest on, here and below.
    """
    out: list[tuple[str, str, str]] = []
    if not holds(vessel):
        return out
    for key, label in SPOKEN.items():
        figure = vessel.get(key)
        if _is_known(figure):
            middle = words.about(figure, ess).removeprefix("about ")
            out.append((label, middle, words.surely(figure, ess).removeprefix("surely between ")))
    return out


def paragraph(name: str, vessel: Mapping[str, Any], ess: float | None = None) -> str:
    """Return one vessel as a short paragraph.

    The volume comes first with its range; then the three or four figures that
    decide what to do next, each with its own range.
    """
    volume = vessel.get("volume")
    if "withheld" in vessel:
        return f"{name}: {vessel['withheld']}."
    if not volume or not holds(vessel):
        return f"{name}: empty."
    return " ".join([f"{name}: {words.phrase(volume, ess)}.", *sentences(vessel, ess)])


def sentences(vessel: Mapping[str, Any], ess: float | None = None) -> list[str]:
    """Return what decides the next step, a sentence each; what is not known is left out."""
    said = [_sentence(key, vessel[key], ess) for key in _FIRST if _is_known(vessel.get(key))]
    ratio = vessel.get("iron_to_capacity")
    if isinstance(ratio, Mapping) and not _is_known(ratio):
        said.insert(0, "Iron, and no tannin to hold it.")
    return said


def _sentence(key: str, figure: Mapping[str, Any], ess: float | None) -> str:
    if key == "iron_to_capacity":
        return ratio_sentence(figure, ess)
    label = SPOKEN[key]
    return f"{label[0].upper()}{label[1:]} {words.phrase(figure, ess)}."


def ratio_sentence(figure: Mapping[str, Any], ess: float | None = None) -> str:
    """Say the ratio of iron to what the tannin can hold as a share of a whole."""
    percent = {k: 100 * float(v) for k, v in figure.items() if k != "unit"} | {"unit": "%"}
    text = words.phrase(percent, ess).replace(" %", " percent")
    if not figure["p95"] > 0:
        return "No iron in it."
    stop = "," if "surely" in text else ""
    return f"Iron for {text}{stop} of what the tannin can hold."
