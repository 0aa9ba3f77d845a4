"""One entry of the daybook as one line that a maker reads at a glance."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from inkhorn.daybook.names import said

_NAMED = frozenset(
    {"lot", "vessel", "into", "from", "marc_of", "material", "name", "against", "support", "pen"}
)
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_APART = frozenset({"at", "kind", "number", "recorded_at", "who", "note", "picture"})

# Each kind's line; a part in brackets is left out where one of its keys is missing.
_SHAPES: Mapping[str, tuple[str, ...]] = {
    "gather": (
        "Gather {amount} of {material}",
        " as {lot}",
        ", from {source}",
        ", {part}",
        ", {age}",
        ", leave: {leave}",
    ),
    "prepare": ("{how} {lot}", ", now {to}"),
    "bring": ("Bring {vessel}", " with {amount}", " of a liquor of {material}"),
    "vessel": ("Take {name}", ", which holds {capacity}", ", {depth} deep", ", made of {made_of}"),
    "support": ("Take {name} to write on", ", {material}", ", {side} side", ", {preparation}"),
    "pen": ("Cut a pen, {name}", ", {cut}", ", {width} wide"),
    "steep": (
        "Steep {amount}",
        " of {lot}",
        " of the marc of {marc_of}",
        " in {liquid_amount}",
        " of {liquid}",
        ", into {into}",
        ", for {for}",
        ", {temperature}",
        ", {pieces}",
    ),
    "strain": ("Strain {vessel}", " into {into}"),
    "reduce": ("Boil {vessel} down", " to {to}", " for {for}", " at {heat}"),
    "weather": (
        "Let {amount} of {lot} weather",
        " in {liquid_amount}",
        " of {liquid}",
        ", into {into}",
        ", for {for}",
        ", {temperature}",
    ),
    "neutralise": ("Put {amount} of {lot} into {vessel} to take up the acid", ", for {for}"),
    "crystallise": ("Crystallise {vessel}", " to {lot}", ", {amount}"),
    "add": ("Add", " {amount}", " of {lot}", " of {liquid}", " up to {up_to}", " into {into}"),
    "pour": ("Pour {amount} from {from} into {into}",),
    "warm": ("Warm {vessel}", " to {to}", ", for {for}"),
    "rest": ("Let {vessel} rest", " for {for}", ", {covered}"),
    "skim": ("Skim {vessel}",),
    "store": ("Store {vessel}", ", {how}"),
    "discard": ("Throw away {amount} of {vessel}",),
    "mark": (
        "Mark {trial} with {vessel}",
        " on {support}",
        ": {method}",
        ", with {pen}",
        ", thinned {thinned}",
        ", the ink {temperature}",
        ", the page at {angle}",
    ),
    "reading": (
        "Noticed of {of}: {what} {value}",
        ", give or take {sd}",
        ", with {with}",
        ", water {water}",
        ", beside {against}",
    ),
    "remark": ("{text}",),
    "void": ("Take back entry {entry}", ": {why}"),
}
# Words of an entry as a maker says them.
_SAID: Mapping[str, Mapping[str, str]] = {
    "method": {
        "dip": "a dipped strip",
        "drop": "a drop",
        "pen": "pen strokes",
        "line": "a written line",
        "pangram": "a sentence with every letter",
    },
    "covered": {"yes": "covered", "no": "uncovered"},
    "heat": {"gentle": "a gentle heat", "simmer": "a simmer", "boil": "a full boil"},
}
_UNITS: Mapping[str, str] = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), "second"),
    **dict.fromkeys(("min", "minute", "minutes"), "minute"),
    **dict.fromkeys(("h", "hour", "hours"), "hour"),
    **dict.fromkeys(("d", "day", "days"), "day"),
    **dict.fromkeys(("week", "weeks"), "week"),
    **dict.fromkeys(("month", "months"), "month"),
    **dict.fromkeys(("year", "years"), "year"),
}
_LENGTH = re.compile(r"(\d+(?:[.,]\d+)?) ?([a-z]+)")


def told(recorded: Any) -> dict[str, Any]:
    """Return a line of the daybook as it was written, with its number in front."""
    return {"number": int(recorded.number), **recorded.to_dict()}


def sentence(line: Mapping[str, Any]) -> str:
    """Return what was done or noticed, without its date."""
    if line.get("kind") == "amend" and isinstance(line.get("replacement"), Mapping):
        instead = sentence(line["replacement"])
        return (
            f"Mend entry {line.get('entry')}: {instead[0].lower()}{instead[1:]} ({when(line['replacement'])})"
        )
    entry = {key: _plain(key, value) for key, value in line.items() if value is not None}
    if " of " in entry.get("amount", "") and "lot" in entry:
        # "a third of the plum-gum jar" says itself of what.
        del entry["lot"]
    if entry.get("lot") == entry.get("material") and entry.get("kind") == "gather":
        del entry["lot"]
    if entry.get("kind") == "strain" and entry.get("into") == entry.get("vessel"):
        return f"Strain {entry['vessel']} and set its marc aside"
    if entry.get("what") == "photo" and entry.get("kind") == "reading":
        return f"Photograph of {entry['of']}"
    if entry.get("what") == "than" and entry.get("kind") == "reading":
        out = _compared(entry["of"], entry.get("value", ""))
        return f"{out[0].upper()}{out[1:]}"
    if line.get("what") == "steps" and isinstance(line.get("value"), Mapping):
        entry["value"] = f"{len(line['value']) - 1}, and its paper"
    shape = _SHAPES.get(str(entry.get("kind")), ())
    out = "".join(_fill(part, entry) for part in shape)
    return f"{out[0].upper()}{out[1:]}" if out else rest(line)


def _compared(thing: str, value: str) -> str:
    """Return ``t4 is darker than t3``."""
    how, _, other = value.partition(" ")
    return f"{thing} is {'the same as' if how == 'same' else f'{how} than'} {other}"


def noticed(line: Mapping[str, Any]) -> str:
    """Return a reading as a noun: ``volume 2500 ml of the pot``, ``photograph of t3``."""
    thing = _plain("of", line.get("of", ""))
    kind = str(line.get("of", "")).partition(":")[0]
    thing = f"the {thing}" if kind in ("vessel", "lot", "support") else thing
    if line.get("what") == "photo":
        return f"photograph of {thing}"
    what = _plain("what", line.get("what", "reading"))
    if line.get("what") == "than":
        return f"{thing} {_plain('value', line.get('value', ''))}"
    said_so = line.get("value")
    value = "" if isinstance(said_so, Mapping) else f" {_plain('value', said_so)}"
    return f"{what}{value} of {thing}"


def rest(line: Mapping[str, Any]) -> str:
    """Return the keys and values of an entry as they were written."""
    return ", ".join(f"{key} {_plain(key, value)}" for key, value in line.items() if key not in _APART)


def when(line: Mapping[str, Any]) -> str:
    """Return the entry's own time as ``12 September 2026, 10:15``."""
    given = str(line.get("at", ""))
    try:
        at = datetime.fromisoformat(given)
    except ValueError:
        return given
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year}, {at:%H:%M}"


def _fill(part: str, entry: Mapping[str, str]) -> str:
    try:
        return part.format_map(entry)
    except KeyError:
        return ""


def _plain(key: str, value: Any) -> str:
    if key in _NAMED and isinstance(value, str):
        return said(value)
    if key == "of" and isinstance(value, str):
        return said(value.partition(":")[2] or value)
    if isinstance(value, Mapping):
        return " ".join(f"{k} {_plain(k, v)}" for k, v in value.items())
    if key == "what":
        if value == "ph":
            return "pH"
        return str(value).replace("_", " ").replace("optical", "channel").replace("support lab", "skin")
    if isinstance(value, str) and value.startswith("sha256:"):
        return "a photograph"
    if isinstance(value, bool):
        value = "yes" if value else "no"
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    if key == "for":
        return _length(text)
    text = re.sub(r"(?<=\d) ?degC\b", " °C", text)
    if key == "temperature":
        return f"at {text}" if text[:1].isdigit() else text
    return word(key, text)


def word(key: str, text: str) -> str:
    """Return a word of an entry as a maker says it: "a dipped strip" for the method ``dip``."""
    return _SAID.get(key, {}).get(text, text)


def _length(text: str) -> str:
    """Return ``1 days`` as "a day", ``18 h`` as "18 hours"; what is not one figure and one unit stays as it was told."""
    found = _LENGTH.fullmatch(text.strip())
    unit = _UNITS.get(found[2]) if found else None
    if found is None or unit is None:
        return text
    if float(found[1].replace(",", ".")) == 1:
        return f"{'an' if unit == 'hour' else 'a'} {unit}"
    return f"{found[1]} {unit}s"
