"""The usual cautions, by what can hurt; each kind of step names its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from inkhorn.handbook.load import group

_BY_KIND: Mapping[str, tuple[str, ...]] = {
    "gather": ("gathering",),
    "reduce": ("boiling",),
    "weather": ("sulfide", "acid", "hydrogen_sulfide"),
    "crystallise": ("iron", "acid", "sulfide"),
    "skim": ("mould",),
    "discard": ("waste",),
}
#: Iron or a sulfide put into a liquid: what may come off.
_GIVES_OFF = {"metallic iron": ("hydrogen", "galvanised"), "sulfide": ("sulfide", "hydrogen_sulfide")}
#: What is gathered where it grows or lies.
_FOUND = ("tannin", "gum", "sulfide")
_PUTS_IN = ("add", "steep", "neutralise", "weather")
#: Bare metals that a sour liquor takes up.
_METALS = (
    ("zinc", "galvanised"),
    ("galvani", "galvanised"),
    ("copper", "copper"),
    ("brass", "copper"),
    ("lead", "copper"),
)


def caution(key: str) -> str:
    """Return the text of one caution."""
    return str(group("cautions")[key]["text"])


def cautions_for(entry: Mapping[str, Any], materials: Iterable[str] = ()) -> tuple[str, ...]:
    """Return the cautions that a step carries, the general line last; nothing where none applies.

    Parameters
    ----------
    entry : mapping
        The entry's JSON form; its kind decides, and how it is done.
    materials : iterable of str
        Handbook keys of what it handles.
    """
    kind = str(entry.get("kind"))
    materials = tuple(materials)
    keys = list(_BY_KIND.get(kind, ()))
    if kind == "gather" and materials and not any(_is_found(material) for material in materials):
        keys.remove("gathering")
    if kind == "prepare" and entry.get("how") in ("crush", "grind"):
        keys.append("dust")
    keys.extend(_of_vessel(entry))
    for material in materials:
        known = group("materials").get(material, {})
        role = str(known.get("role", ""))
        if kind in _PUTS_IN:
            keys.extend(_GIVES_OFF.get(role, ()))
        if kind == "neutralise":
            keys.extend(("acid", "froth") if role == "chalk" else ("acid",))
        own = known.get("caution")
        if own and not (own == "gathering" and kind != "gather"):
            keys.append(str(own))
    if kind == "neutralise" and not keys:
        keys.extend(("hydrogen", "galvanised", "acid"))
    texts = tuple(caution(key) for key in dict.fromkeys(keys))
    return (*texts, caution("closing")) if texts else ()


def _is_found(material: str) -> bool:
    """Tell whether a material is taken from where it grows or lies; what only shops and works have is not."""
    known = group("materials").get(material, {})
    return known.get("role") in _FOUND or known.get("caution") == "sulfide"


def _of_vessel(entry: Mapping[str, Any]) -> tuple[str, ...]:
    """Return what a vessel's metal calls for, where the entry says what it is made of."""
    made_of = str(entry.get("made_of") or "").casefold().replace("lead-free", "")
    return tuple(key for word, key in _METALS if word in made_of)
