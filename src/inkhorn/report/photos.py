"""A photograph's reading in a few plain sentences, for the command and the page."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from inkhorn.counsel.plain import share_words
from inkhorn.report import words

# What is so with nearly every photograph, and asks for nothing: it stands with the figures.
# A warning that is not named here is shown.
_ROUTINE = re.compile(
    r"the file's dpi tag|no colour profile|colours brought from|no scale is known|not calibrated by a card"
    r"|narrow strokes in a compressed|the strokes are narrow for|\d+ ruled line|what is gone is told"
)


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
    """Return what a maker wants to know of a photograph first: what was found, how dark it is, and what to look out for."""
    heard = [text for text in reading.get("warnings", ()) if not _ROUTINE.match(text)]
    return [_found(reading), *_dark(reading), *warnings({"warnings": heard})]


def _found(reading: Mapping[str, Any]) -> str:
    count = len(reading["strokes"])
    said = {0: "No stroke was found", 1: "One stroke was found"}.get(count, f"{count} strokes were found")
    return f"{said}{' with the card' if reading.get('card') else ''}."


def _dark(reading: Mapping[str, Any]) -> list[str]:
    """Say how dark the ink is by the light that it gives back, on the mean of the channels."""
    density = [float(d["value"]) for d in (reading.get("optical_density") or {}).values()]
    if not density or not all(math.isfinite(d) for d in density):
        return []
    light = share_words(10.0 ** -(sum(density) / len(density)))
    return [f"The ink gives back about {light} of the light that the bare sheet beside it does."]


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
