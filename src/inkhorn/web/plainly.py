"""A vessel in plain words: for how many pages its ink is enough, how thick it is, whether iron or tannin runs short."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inkhorn.counsel.plain import ink_a_page, pages_words, thickness_words
from inkhorn.daybook.inventory import Inventory
from inkhorn.handbook.load import group, value
from inkhorn.report import lines, vessels
from inkhorn.web.swatch import writes


def page_ml(things: Inventory, pen: str) -> float:
    """Return ml of ink that a page takes with the pen in hand, a goose quill where none is."""
    thing = things.pens.get(pen)
    kind = (thing.material if thing is not None else None) or "goose-quill"
    if kind not in group("pens") or "film" not in group("pens")[kind]:
        kind = "goose-quill"
    width = (
        thing.width.value if thing is not None and thing.width is not None else value(f"pens.{kind}.width")
    )
    return float(ink_a_page(film=value(f"pens.{kind}.film"), width=width))


def sentences(figures: Mapping[str, Any], page: float, ess: float | None) -> list[str]:
    """Return what a maker wants to know of a vessel first; figures of chemistry are told elsewhere."""
    out = []
    volume, thickness, ratio = (figures.get(key) for key in ("volume", "viscosity", "iron_to_capacity"))
    if volume and writes(figures):
        words = pages_words(float(volume["median"]), page)
        out.append(
            f"Enough for {words.removeprefix('less than ')}, or less."
            if "less" in words
            else f"Enough for {words}."
        )
    if thickness and thickness.get("median") is not None:
        out.append(f"{_upper(thickness_words(float(thickness['median'])))}.")
    if ratio and ratio.get("median") is not None:
        out.append(vessels.ratio_sentence(ratio, ess))
    return out


def lately(line: Mapping[str, Any], year: int) -> str:
    """Return when something was done: ``16 September, 18:28``, with the year only where it is another."""
    return lines.when(line).replace(f" {year},", ",")


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
