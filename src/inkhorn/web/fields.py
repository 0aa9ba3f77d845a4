"""What a form is made of: questions, the things that can be tapped for an answer, and the names there are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs

from inkhorn.handbook.load import group


@attrs.frozen(kw_only=True)
class Choice:
    """One thing that can be tapped: what is sent, and what is read."""

    value: str
    label: str


@attrs.frozen(kw_only=True)
class Field:
    """One question of a form.

    Parameters
    ----------
    name : str
        Key of the form's data.
    keys : tuple of str
        Keys of the entry that a complaint may name when it means this field.
    label, hint : str
        The question and an example of an answer.
    choices : tuple of Choice
        What can be tapped; empty for text alone.
    other : str
        Question of the text beside the choices, or empty where only the choices will do.
    needed : bool
        Whether the form cannot be sent without.
    kind : str
        "text", "date" or "long".
    offers : tuple of str
        What the text beside the choices may be completed to; anything else may be written too.
    """

    name: str
    label: str
    keys: tuple[str, ...] = ()
    hint: str = ""
    choices: tuple[Choice, ...] = ()
    other: str = ""
    needed: bool = True
    kind: str = "text"
    offers: tuple[str, ...] = ()
    value: str = ""


@attrs.frozen(kw_only=True)
class Bench:
    """The names that there are on the bench, newest last, and what was in hand last.

    ``cups`` has the pot of each cup that something is tried on; ``marked`` the vessels whose ink was written with;
    ``soaking`` is the vessel in which something was put to soak last and not yet strained.
    """

    vessels: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()
    supports: tuple[str, ...] = ()
    pens: tuple[str, ...] = ()
    trials: tuple[str, ...] = ()
    exemplars: tuple[str, ...] = ()
    cups: Mapping[str, str] = attrs.field(factory=dict)
    marked: frozenset[str] = frozenset()
    vessel: str = ""
    soaking: str = ""
    support: str = ""
    pen: str = ""
    method: str = ""


def named(names: Sequence[str]) -> tuple[Choice, ...]:
    """Return names as things to tap."""
    return tuple(Choice(value=name, label=name) for name in names)


def first_names(group_name: str) -> tuple[str, ...]:
    """Return the first name of everything in a group of the handbook."""
    return tuple(str(node["names"][0]) for node in group(group_name).values() if "names" in node)


def when(now: str) -> Field:
    """Return the question of when, answered with now."""
    return Field(name="at", label="When", keys=("at",), kind="date", value=now)


def vessel(bench: Bench, label: str, *, name: str = "vessel", value: str = "") -> Field:
    """Return the question of which vessel, answered with the one in hand unless another is given."""
    return Field(
        name=name, label=label, keys=(name,), choices=named(bench.vessels), value=value or bench.vessel
    )


def into(bench: Bench, *, value: str = "") -> Field:
    """Return the question of which vessel it goes into; a new one may be named."""
    return Field(
        name="into",
        label="Into",
        keys=("into",),
        choices=named(bench.vessels),
        other="or another vessel",
        value=value,
    )
