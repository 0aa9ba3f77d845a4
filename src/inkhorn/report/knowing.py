"""What was learnt, from which reading, and what is still least known, in plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inkhorn.daybook.names import said
from inkhorn.report import lines, unknowns, words

Entries = Mapping[int, Mapping[str, Any]]

#: What figures are called inside a sentence; of a vessel, then of a lot.
FIGURES: Mapping[str, str] = {
    "volume": "how much is in {it}",
    "temperature": "the warmth of {it}",
    "iron_total": "the iron in {it}",
    "iron_capacity": "the iron that the tannin of {it} can hold",
    "iron_to_capacity": "the iron in {it} for what its tannin can hold",
    "free_iron": "the iron in {it} that no tannin holds",
    "ph": "the sourness (pH) of {it}",
    "viscosity": "the thickness of {it}",
    "gum": "the gum in {it}",
    "dissolved_solids": "all that is dissolved in {it}",
    "specific_gravity": "the weight of {it} against water",
    "acid_to_chalk": "the chalk that a stroke of {it} uses up",
    "dry_optical_density": "how dark {it} dries (density)",
    "tannin_fraction": "the tannin in {it}",
    "iron_fraction": "the iron in {it}",
    "gum_soluble": "the share of {it} that dissolves",
    "mass_left": "what is left of {it}",
}
_PERCENT = frozenset({"iron_to_capacity", "tannin_fraction", "iron_fraction", "gum_soluble"})
_LOT_LINES: Mapping[str, str] = {
    "tannin_fraction": "tannin",
    "iron_fraction": "iron",
    "gum_soluble": "what dissolves",
    "mass_left": "left",
}
SHOWN = 3


def figure_name(of: str, figure: str, entries: Entries | None = None) -> str:
    """Return what a figure of a vessel or lot, or an unknown, is called in a sentence."""
    if of == "unknown":
        return unknowns.plain(figure, entries)
    return FIGURES.get(figure, figure.replace("_", " ")).format(it=f"the {said(of.partition(':')[2])}")


def bits(number: float, error: float = 0.0) -> str:
    """Return an amount of information in words, no digit more than its error allows."""
    step = max(words.step_over(error), 0.1)
    text = words.number(number, step)
    text = text if float(text) > 0 else words.number(step, step)
    text = text.removesuffix(".0")
    return f"{text} bit{'' if float(text) == 1 else 's'}"


def spread(band: Mapping[str, float], figure: str, unit: str, ess: float | None) -> str:
    """Return a band as ``between 2300 and 2770 ml``."""
    times, spoken = (100.0, "percent") if figure in _PERCENT else (1.0, words.spoken(unit))
    low, middle, high = (times * band[key] for key in ("p05", "median", "p95"))
    whole = {"median": middle, "p05": low, "p25": (low + middle) / 2, "p75": (middle + high) / 2, "p95": high}
    text = words.surely(whole | {"unit": "1"}, ess).removeprefix("surely ")
    return f"{text} {spoken}".strip() if text else words.about(whole | {"unit": spoken}, ess)


def taught(answer: Mapping[str, Any], entries: Entries, most: int = SHOWN) -> list[str]:
    """Return what the readings taught that taught most, a sentence or two each."""
    ess = answer.get("ess")
    shown = worth_telling(answer)[:most]
    out = [_taught(item, entries, ess) for item in shown]
    if not all(item["sure"] for item in shown):
        out.append("Where it says at least, --closely tells how much.")
    return out


def worth_telling(answer: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the readings that taught something that can be told."""
    return [item for item in answer.get("taught", ()) if item["bits"] >= _LEAST]


_LEAST = 0.1


def _taught(item: Mapping[str, Any], entries: Entries, ess: float | None) -> str:
    line = entries.get(item["entry"], {})
    named = lines.noticed(line)
    amount = bits(item["bits"], item["error"])
    text = f"Entry {item['entry']}, {named}: {amount if item['sure'] else f'at least {amount}'}"
    most = item["most"]
    if most is None:
        return f"{text}, a little of many things."
    text += f", most about {figure_name(most['of'], most['figure'], entries)}"
    without, now = (spread(most[key], most["figure"], most["unit"], ess) for key in ("without", "with"))
    if most["of"] == "unknown" and most["unit"] == "1":
        # A pure number of the model means nothing at the bench.
        return f"{text}."
    return f"{text}: {without} without it, {now} with it."


def least_known(answer: Mapping[str, Any], entries: Entries, most: int = SHOWN) -> list[str]:
    """Return what is still least known, a sentence or two each."""
    out = []
    for item in answer.get("least_known", ())[:most]:
        name = figure_name(item["of"], item["figure"])
        band = spread(item["value"], item["figure"], item["value"]["unit"], answer.get("ess"))
        text = f"{name[0].upper()}{name[1:]}: {band}, {_times(item['times_too_wide'])} wider than a decision needs."
        text += f" {_left(item['variance_left'])}"
        if item["because"] and item["of"] != item["because"].partition("/")[0]:
            text += f" It hangs most on this: {unknowns.plain(item['because'], entries)}."
        out.append(text)
    return out


def _times(ratio: float) -> str:
    return f"{words.number(ratio, 1 if ratio >= 2 else 0.1)} times"


def _left(share: float) -> str:
    percent = round(100 * share, -1)
    if percent >= 100:
        return "Nothing that you noticed has told it yet."
    if percent <= 0:
        return "Nearly all of what was not known beforehand has been told."
    return f"Of what was not known beforehand, {percent:.0f} percent is left."


def lots(answer: Mapping[str, Any]) -> list[str]:
    """Return what is believed of each lot, a line each; lots of which nothing is known are left out."""
    out = []
    for name, found in answer.get("lots", {}).items():
        parts = [
            _lot_part(key, found[key], answer.get("ess")) for key in _LOT_LINES if _is_known(found.get(key))
        ]
        if parts:
            out.append(f"{said(name)}: {'; '.join(parts)}.")
    return out


def _is_known(figure: Any) -> bool:
    return isinstance(figure, Mapping) and figure.get("median") is not None


def _lot_part(key: str, figure: Mapping[str, Any], ess: float | None) -> str:
    if key == "mass_left":
        if not float(figure["p95"]) > 0:
            return "none left"
        return f"{words.phrase(figure, ess)} left"
    percent = {k: 100 * float(v) for k, v in figure.items() if k != "unit"} | {"unit": "1"}
    text = words.about(percent, ess)
    band = words.surely(percent, ess)
    return f"{_LOT_LINES[key]} {text} percent{f' ({band})' if band else ''}"


def draws(answer: Mapping[str, Any]) -> str:
    """Say how many draws the answer rests on, and what that does to its figures."""
    n, ess = int(answer["draws"]), float(answer["ess"])
    worth = words.number(ess, 10.0 ** max(len(str(int(ess))) - 2, 0))
    middle, _ = words.noise({"p05": -1.645, "p25": -0.674, "p75": 0.674, "p95": 1.645}, ess)
    share = 100 * middle / (2 * 1.645)
    return (
        f"Worked out from {n} draws, worth about {worth} independent ones: with other draws the middle of a figure "
        f"would move by about {words.number(share, words.step_over(share / 2))} percent of the width of its range."
    )


def story(answer: Mapping[str, Any], entries: Sequence[Mapping[str, Any]]) -> list[tuple[str, list[str]]]:
    """Return the sections that follow the vessels: a heading and its lines; empty ones are left out."""
    by_number = {int(line["number"]): line for line in entries}
    sections = [
        ("What taught most", taught(answer, by_number)),
        ("Least known", least_known(answer, by_number)),
        ("On the shelf", lots(answer)),
    ]
    return [(head, told) for head, told in sections if told]
