"""A photograph's reading in a few plain sentences, for the command and the page."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from inkhorn.report import words


def sentences(reading: Mapping[str, Any]) -> list[str]:
    """Return what was read, from the JSON answer of a photograph."""
    return [
        _strokes(reading),
        *_density(reading),
        *_colour(reading),
        *_size(reading),
        *_wear(reading),
        *([reading["infrared"]["sentence"]] if reading.get("infrared") else []),
        *warnings(reading),
    ]


def plain(reading: Mapping[str, Any]) -> list[str]:
    """Return what a maker wants to know of a photograph first: what was found, and what to look out for."""
    return [_strokes(reading), *warnings(reading)]


def warnings(reading: Mapping[str, Any]) -> list[str]:
    """Return each warning as a sentence."""
    return [f"{text[0].upper()}{text[1:].rstrip('.')}." for text in reading.get("warnings", ()) if text]


def _strokes(reading: Mapping[str, Any]) -> str:
    count = len(reading["strokes"])
    said = {0: "No stroke was found", 1: "One stroke was found"}.get(count, f"{count} strokes were found")
    how = "with the card" if reading.get("card") else "against the bare support nearby"
    return f"{said}, measured {how}."


def _density(reading: Mapping[str, Any]) -> list[str]:
    channels = reading.get("optical_density") or {}
    parts = [f"{channel} {with_error(d['value'], d['sd'])}" for channel, d in channels.items()]
    return [f"Channel density {words.joined(parts)}."] if parts else []


def _colour(reading: Mapping[str, Any]) -> list[str]:
    """Say the colours of ink and skin where the picture is calibrated."""
    out = []
    for key, what in (("lab", "The ink"), ("support_lab", "The bare support")):
        lab, sd = reading.get(key), reading.get(f"{key}_sd")
        if lab and sd:
            parts = [f"{name}* {with_error(lab[name], sd[name])}" for name in "Lab"]
            out.append(f"{what} is {words.joined(parts)} under daylight (D65).")
    return out


def _size(reading: Mapping[str, Any]) -> list[str]:
    """Say the usual width of the strokes where there is a scale."""
    widths = sorted(s["width_mm"] for s in reading["strokes"] if s.get("width_mm"))
    if not widths:
        return []
    middle, share = widths[len(widths) // 2], reading.get("scale_sd") or 0
    exact = words.number(middle, 0.01)
    return [f"The strokes are about {with_error(middle, middle * share) if share > 0.01 else exact} mm wide."]


def with_error(value: float, sd: float) -> str:
    """Return a value and its error with the digits that the error leaves: ``0.96 ± 0.04``."""
    if not (math.isfinite(sd) and sd > 0):
        return words.number(value, 0)
    step = 10.0 ** math.floor(math.log10(sd))
    return f"{words.number(value, step)} ± {words.number(sd, step)}"


def _wear(reading: Mapping[str, Any]) -> list[str]:
    wear = reading.get("wear") or {}
    shares = [f"{round(100 * float(share))} percent {what}" for what, share in wear.items()]
    return [f"Of the inked ground {words.joined(shares)}."] if shares else []
