"""The daybook: everything that was done and noticed, by day; and one entry by itself, to be mended or taken back."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

import attrs
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from inkhorn.daybook.book import Recorded, root_of, struck_out
from inkhorn.daybook.entries import Amend, Void
from inkhorn.daybook.schema import COMMON, KINDS, Key
from inkhorn.errors import InkhornError
from inkhorn.report import lines
from inkhorn.web import asked, shots
from inkhorn.web.frame import render, room_of
from inkhorn.web.standing import Standing
from inkhorn.web.view import faults_of

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@attrs.frozen(kw_only=True)
class Line:
    """One line of the daybook as it is read.

    Parameters
    ----------
    number : int
    day, time : str
    sentence : str
        What stands; of a line that was mended, the newer wording.
    before : str
        What it said before it was mended, or nothing.
    state : str
        "" (stands), "taken" (struck out), "mended", or "later" (itself a mending or striking-out).
    who, note : str
    picture : str
        Address of a small picture, or nothing.
    """

    number: int
    day: str
    time: str
    sentence: str
    before: str = ""
    state: str = ""
    who: str = ""
    note: str = ""
    picture: str = ""


def told(now: Standing) -> list[Line]:
    """Return every line, the newest first."""
    struck = struck_out(now.recorded)
    stands = {line.number: line for line in now.standing}
    ordered = sorted(now.recorded, key=lambda line: (line.entry.at, line.number), reverse=True)
    return [_line(line, stands.get(line.number), taken=line.number in struck) for line in ordered]


def _line(line: Recorded, stands: Recorded | None, *, taken: bool) -> Line:
    raw = line.raw if stands is None else stands.raw
    state, before = "", ""
    if taken:
        state = "taken"
    elif isinstance(line.entry, Amend | Void):
        state = "later"
    elif stands is not None and stands.amended_by is not None:
        state, before = "mended", lines.sentence(line.raw)
    entry = line.entry if stands is None else stands.entry
    day, _, time = lines.when({"at": entry.at.isoformat(timespec="minutes")}).partition(", ")
    return Line(
        number=line.number,
        day=f"{_WEEKDAYS[entry.at.weekday()]} {day}",
        time=time,
        sentence=lines.sentence(raw),
        before=before,
        state=state,
        who=str(raw.get("who", "")),
        note=str(raw.get("note", "")),
        picture=shots.address(shots.hash_in(raw)),
    )


def by_day(found: Sequence[Line]) -> list[tuple[str, list[Line]]]:
    """Return the lines under their days, in the order given."""
    return [(day, list(group)) for day, group in groupby(found, key=lambda line: line.day)]


def daybook(request: Request) -> Response:
    """Show the daybook, or the story of one thing."""
    now = room_of(request).now()
    found = told(now)
    of = request.query_params.get("of", "")
    sort, _, name = of.partition(":")
    if name:
        numbers = {line.number for line in now.of(sort, name)}
        found = [line for line in found if line.number in numbers]
    names = {"days": by_day(found), "of": name, "count": len(now.recorded)}
    return render(request, "daybook.html", "daybook", names)


def entry(request: Request) -> Response:
    """Show one entry, with what can be done about it."""
    return show_entry(request, int(request.path_params["number"]), {}, None)


def show_entry(
    request: Request, number: int, data: Mapping[str, str], error: InkhornError | None
) -> Response:
    """Show one entry; with the form as it was sent where that was refused."""
    now = room_of(request).now()
    line = next((one for one in now.recorded if one.number == number), None)
    if line is None:
        last = len(now.recorded)
        raise HTTPException(
            404,
            f"There is no entry with the number {number}. {f'The last is entry {last}' if last else 'The daybook is empty'}",
        )
    stands = next((one for one in now.standing if one.number == number), None)
    shown = _line(line, stands, taken=number in struck_out(now.recorded))
    names = {
        "line": shown,
        "fields": _fields(stands, data) if stands is not None else (),
        "faults": faults_of(error),
        "root": root_of(number, {one.number: one for one in now.recorded}),
        "kind": line.kind,
    }
    return render(request, "entry.html", "daybook", names, 422 if error else 200)


@attrs.frozen(kw_only=True)
class Asked:
    """One key of an entry to be mended: its name, the question and an example, and what it holds."""

    name: str
    label: str
    hint: str
    value: str
    needed: bool

    @property
    def is_moment(self) -> bool:
        """Whether it is a moment that a date field of a browser can hold."""
        return self.name == "at" and re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d", self.value) is not None


def _fields(line: Recorded, data: Mapping[str, str]) -> tuple[Asked, ...]:
    """Return the keys of an entry that can be written anew as text."""
    keys = [*KINDS[line.kind].keys, *COMMON]
    out = []
    for key in keys:
        given = line.raw.get(key.name)
        if key.name == "picture" or not isinstance(given, str | int | float | bool | None):
            continue
        if isinstance(given, str) and given.startswith("sha256:"):
            continue
        text = "" if given is None else ("yes" if given is True else "no" if given is False else str(given))
        value = data.get(f"key-{key.name}", text)
        out.append(_asked(line.kind, key, value))
    return tuple(out)


def _asked(kind: str, key: Key, value: str) -> Asked:
    label, hint = asked.question(kind, key.name), asked.example(kind, key.name)
    return Asked(name=key.name, label=label, hint=hint, value=value, needed=key.needed)


def mended(line: Recorded, data: Mapping[str, str]) -> dict[str, Any]:
    """Return the whole entry that stands in an entry's place, as a form says it."""
    out = dict(line.raw)
    for field in _fields(line, {}):
        given = data.get(f"key-{field.name}", field.value).strip()
        if given == field.value:
            continue
        if not given:
            out.pop(field.name, None)
        elif field.name == "covered":
            out[field.name] = given.lower() in {"yes", "true", "covered", "1"}
        elif isinstance(line.raw.get(field.name), int | float) and re.fullmatch(r"-?\d+(\.\d+)?", given):
            out[field.name] = float(given)
        else:
            out[field.name] = given
    return out
