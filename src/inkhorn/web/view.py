"""Everything that the bench page shows, gathered from the workshop and the desk."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.names import said as said_name
from inkhorn.errors import EntryErrors, InkhornError
from inkhorn.handbook.load import group
from inkhorn.report import lines, vessels
from inkhorn.web import (
    again,
    cups,
    first,
    following,
    forms,
    next_step,
    plainly,
    shelf,
    soaking,
    swatch,
    timers,
)
from inkhorn.web.desk import Answer
from inkhorn.web.fields import Bench, Choice, Field
from inkhorn.web.room import Question, Room, question_of

_SHOWN = 6
_LOOK = 8.0
_QUERY = ("vessel", "exemplar", "as", "do", "of", "what", "said", "all")


@attrs.frozen(kw_only=True)
class Said:
    """What came back of the thing just sent: its receipt, or why it was refused, and how much was kept before that."""

    do: str = ""
    data: Mapping[str, str] = attrs.field(factory=dict)
    error: InkhornError | None = None
    receipt: Mapping[str, Any] | None = None
    kept: int = 0
    heard: Mapping[str, Any] | None = None


def page(
    room: Room, asked: Mapping[str, str], said: Said | None = None, *, patience: float = _LOOK
) -> dict[str, Any]:
    """Return the template's names for one rendering of the bench page.

    Parameters
    ----------
    room : Room
    asked : mapping
        The query of the address: vessel, exemplar, as, do, of, what, said, all.
    said : Said, optional
        The outcome of a form that was just sent.
    patience : float
        How long to wait for a photograph that was just sent to be read, in seconds.
    """
    now_ = room.now()
    daybook, bench, after, things = now_.told, now_.bench, now_.after, now_.things
    question = question_of(bench, asked)
    said = said or _said(room, asked)
    return {
        "name": room.name,
        "here": f"/?{urlencode({k: v for k, v in asked.items() if k in _QUERY})}",
        "after": after,
        "bench": bench,
        "question": question,
        **(answers := _answers(room, after, question, things, bench.pen)),
        "look": (look := _look(room, now_.recorded, said, patience)),
        "working": answers["working"] or (look is not None and look.working),
        "box": (asked_box := box(bench, said)),
        "unplaced": [f for f in faults_of(said.error) if f not in asked_box.wrong.values()],
        "said": said,
        "undoable": (last := undoable(daybook)),
        "together": (parts := together(daybook, room.sent_with(last))),
        "together_are": _are(daybook, parts),
        "daybook": _daybook(daybook, whole=bool(asked.get("all"))),
        "earlier": max(0, len(daybook) - _SHOWN) if not asked.get("all") else 0,
        "did": following.did,
        "purpose": following.purpose,
        "headline": following.headline,
        "split": following.split,
        "tried": following.tried,
        "untried": cups.untried(question.vessel or "", bench),
        "lead": following.lead,
        "check_address": following.check_address,
        "next": next_step.after(int(said.receipt["number"]), now_) if said.receipt else None,
        "begun": first.steps(now_),
        "clock": (clock := datetime.now().astimezone().replace(tzinfo=None)),
        "timers": timers.timers(now_.standing, clock),
        "others": soaking.others(),
        "again": again.tiles(now_.standing, bench),
        "closing": str(group("cautions")["closing"]["text"]),
    }


def _said(room: Room, asked: Mapping[str, str]) -> Said:
    number = asked.get("said", "")
    receipt = room.receipts.get(int(number)) if number.isdecimal() else None
    return Said(do=asked.get("do", ""), data=asked, receipt=receipt)


def _look(room: Room, recorded: Sequence[Recorded], said: Said, patience: float) -> Answer | None:
    """Return what was read of the photograph that was just sent."""
    if not said.receipt or not said.receipt.get("photo"):
        return None
    return room.look(recorded, int(said.receipt["number"]), patience=patience)


def _answers(room: Room, after: int, question: Question, things: Any, pen: str) -> dict[str, Any]:
    """Return estimate, counsel and comparison as far as they are known."""
    estimate = room.estimate(after)
    ready = question.vessel is not None and question.exemplar is not None
    counsel = room.counsel(after, question) if ready else None
    line = room.comparison(after, question) if question.trial and question.exemplar else None
    known = estimate.value or {"vessels": {}, "flags": []}
    full = _full(known["vessels"], question.vessel)
    skin = _skin(things)
    page = plainly.page_ml(things, pen)
    return {
        "estimate": estimate,
        "counsel": counsel,
        "comparison": line,
        "bar": shares_bar(line.value.get("shares", {})) if line and line.value else None,
        "working": any(answer is not None and answer.working for answer in (estimate, counsel, line)),
        "shelf": _shelf(full, things),
        "empty": [
            n for n, figures in known["vessels"].items() if n not in full and "withheld" not in figures
        ],
        "withheld": {
            n: figures["withheld"] for n, figures in known["vessels"].items() if "withheld" in figures
        },
        "skin": swatch.hex_of(swatch.skin(skin)),
        "skin_name": skin.replace("-", " "),
        "sentences": {
            name: plainly.sentences(figures, page, known.get("ess")) for name, figures in full.items()
        },
        "rows": {name: vessels.rows(figures, known.get("ess")) for name, figures in full.items()},
        "flags": known.get("flags", []),
    }


def _full(known: Mapping[str, Any], first: str | None) -> dict[str, Any]:
    """Return the vessels that may hold anything, the one that is asked about in front."""
    full = {n: figures for n, figures in known.items() if vessels.holds(figures)}
    return {name: full[name] for name in sorted(full, key=lambda name: name != first)}


def _skin(things: Any) -> str:
    """Return the handbook name of the support in use, goat parchment where there is none yet."""
    for thing in reversed(list(things.supports.values())):
        if thing.material:
            return str(thing.material)
    return "goat-parchment"


def _shelf(figures: Mapping[str, Any], things: Any) -> list[shelf.Drawing]:
    capacities = {}
    made_of = {}
    for name in figures:
        thing = things.vessels.get(name)
        capacity = getattr(thing, "capacity", None)
        capacities[name] = float(capacity.value) if capacity is not None else None
        made_of[name] = str(getattr(thing, "made_of", None) or "")
    return shelf.draw(figures, capacities, made_of)


@attrs.frozen(kw_only=True)
class Share:
    """One part of the bar in percent of its length: where it lies, and where its word stands."""

    name: str
    start: float
    width: float
    row: int


_CAUSES = {"pen": "pen and hand"}
_LEAST = 0.01  # a part smaller than this is too thin to be seen
_LETTER = 2.2  # width of a letter of the words, in percent of the narrowest bar


def shares_bar(shares: Mapping[str, Mapping[str, Any]]) -> list[Share]:
    """Lay out the shared-out difference as one bar with words beneath its parts.

    Each word begins under its own part and runs to the right; where it would
    touch the next it stands in a lower row.  Worked from right to left, no
    thin line down to a word then crosses another word.  A part that hides some
    of the difference has no length; the sentence beneath speaks of it.
    """
    parts = {_CAUSES.get(name, name): max(float(part["fraction"]), 0) for name, part in shares.items()}
    total = sum(parts.values())
    if total <= 0:
        return []
    percent = {name: 100 * part / total for name, part in parts.items() if part >= _LEAST * total}
    last = next(reversed(percent))
    if percent[last] < _LETTER * (len(last) + 1):
        percent = dict(sorted(percent.items(), key=lambda item: item[1]))
    out: list[Share] = []
    end = 100.0
    for name, width in reversed(percent.items()):
        start = end - width
        reach = start + _LETTER * (len(name) + 1)
        row = max((other.row + 1 for other in out if other.start <= reach), default=0)
        out.append(Share(name=name, start=start, width=width, row=row))
        end = start
    out.reverse()
    return out


@attrs.frozen(kw_only=True)
class Box:
    """The box in which you say what you did: the tiles, and the form that is open."""

    do: str = ""
    title: str = ""
    fields: tuple[Field, ...] = ()
    wrong: Mapping[str, InkhornError] = attrs.field(factory=dict)
    of: str = ""
    what: str = ""
    whats: tuple[tuple[str, str], ...] = ()
    things: tuple[tuple[str, tuple[Choice, ...]], ...] = ()


def now() -> str:
    """Return the present minute on this machine, as entries and date fields write it."""
    return datetime.now().astimezone().strftime("%Y-%m-%dT%H:%M")


def box(bench: Bench, said: Said) -> Box:
    """Return what the box shows: the tiles, or the form that is open, filled in as it was sent."""
    do = said.do
    if do == "reading":
        return _reading_box(bench, said)
    form = forms.form_of(do)
    if form is not None:
        fields = form.fields(bench, now())
        return Box(
            do=do, title=form.title, fields=_kept(fields, said.data), wrong=wrong_fields(fields, said.error)
        )
    return Box(do=do if do in {"photo", "exemplar", "more"} else "")


def _reading_box(bench: Bench, said: Said) -> Box:
    of, what = said.data.get("of", ""), said.data.get("what", "")
    kind, _, name = of.partition(":")
    whats = tuple((key, label) for key, label, _ in forms.NOTICED.get(kind, ()))
    if name and what in dict(whats):
        fields = forms.reading_fields(of, what, now(), bench.exemplars)
        return Box(
            do="reading",
            title=f"{_upper(_thing(kind, name))}: {_lower(dict(whats)[what])}",
            fields=_kept(fields, said.data),
            wrong=wrong_fields(fields, said.error),
            of=of,
            what=what,
        )
    if name and whats:
        return Box(do="reading", title=f"What do you notice of {_thing(kind, name)}?", of=of, whats=whats)
    return Box(do="reading", title="You notice something. Of what?", things=_things(bench))


_CALLED = {"vessel": "the ", "trial": "trial "}


def _thing(kind: str, name: str) -> str:
    """Return a thing as it is named in a sentence: the pot, trial t4, goat 1."""
    return f"{_CALLED.get(kind, '')}{said_name(name)}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _things(bench: Bench) -> tuple[tuple[str, tuple[Choice, ...]], ...]:
    """Return what can be noticed of, by sort; what was in hand last in front."""
    vessels = sorted(bench.vessels, key=lambda name: name != bench.vessel)
    kinds: Sequence[tuple[str, str, Sequence[str]]] = (
        ("A vessel", "vessel", vessels),
        ("A trial", "trial", bench.trials[-_SHOWN:][::-1]),
        ("A skin or paper", "support", bench.supports[::-1]),
        ("A material", "lot", bench.lots),
    )
    return tuple(
        (head, tuple(Choice(value=f"{kind}:{name}", label=name) for name in names))
        for head, kind, names in kinds
        if names
    )


def _kept(fields: tuple[Field, ...], data: Mapping[str, str]) -> tuple[Field, ...]:
    """Put back into the form what was already given."""
    return tuple(attrs.evolve(f, value=forms.answer(data, f) or f.value) for f in fields)


def faults_of(error: InkhornError | None) -> tuple[InkhornError, ...]:
    """Return every complaint of one refusal."""
    if isinstance(error, EntryErrors):
        return error.faults
    return () if error is None else (error,)


def wrong_fields(fields: Sequence[Field], error: InkhornError | None) -> dict[str, InkhornError]:
    """Return the complaints that are about a field of the form, by its name.

    A complaint names a key of the entry where it happened, or in its words.
    """
    out: dict[str, InkhornError] = {}
    for fault in faults_of(error):
        for heard in (fault.where, fault.what):
            words_ = set(re.findall(r"[a-z_]+", heard.lower()))
            found = next((f.name for f in fields if words_ & set(f.keys) and f.name not in out), None)
            if found is not None:
                out[found] = fault
                break
    return out


def undoable(daybook: Sequence[Mapping[str, Any]]) -> int:
    """Return the number of the last entry that still stands, 0 where none does."""
    taken = {int(e["entry"]) for e in daybook if e.get("kind") == "void"}
    standing = [
        int(e["number"]) for e in daybook if e.get("kind") != "void" and int(e["number"]) not in taken
    ]
    return max(standing, default=0)


def together(daybook: Sequence[Mapping[str, Any]], numbers: tuple[int, ...]) -> tuple[int, ...]:
    """Return the entries that were kept in one go with the last that stands, where they can be taken back whole; else ().

    Where one of them was taken back since, the rest are no course any more.
    """
    taken = {int(e["entry"]) for e in daybook if e.get("kind") in {"void", "amend"}}
    return () if taken & set(numbers) else numbers


def _are(daybook: Sequence[Mapping[str, Any]], numbers: tuple[int, ...]) -> str:
    """Return what entries kept in one go are called together."""
    shown = {e.get("what") == "photo" for e in daybook if int(e["number"]) in numbers}
    return "photographs" if shown == {True} else "steps"


def _daybook(daybook: Sequence[Mapping[str, Any]], *, whole: bool) -> list[dict[str, Any]]:
    """Return the newest entries first, each with its line; the last can be taken back."""
    taken = {int(e["entry"]) for e in daybook if e.get("kind") == "void"}
    last = undoable(daybook)
    out = [
        {
            "number": int(e["number"]),
            "when": plainly.lately(e, datetime.now().astimezone().year),
            "sentence": lines.sentence(e),
            "taken_back": int(e["number"]) in taken,
            "last": int(e["number"]) == last,
        }
        for e in reversed(daybook)
    ]
    return out if whole else out[:_SHOWN]
