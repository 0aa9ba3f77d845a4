"""Plain forms for what is done most at the bench, and how they become entries.

Each form is one kind of entry (or a few readings); each field is one key of
that entry, asked in the maker's words.  Nothing is checked here: the daybook
checks, and its complaint is shown beside the field it is about.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

import attrs

from inkhorn.daybook import readings
from inkhorn.daybook.words import scale
from inkhorn.errors import InkhornError, MissingKeyError
from inkhorn.report import lines
from inkhorn.web import soaking
from inkhorn.web.fields import Bench, Choice, Field, first_names, into, named, vessel, when

# What is asked of each sort of thing, with an example of an answer; a word is tapped, not written.
NOTICED: Mapping[str, tuple[tuple[str, str, str], ...]] = {
    "vessel": (
        ("volume", "How much is in it", "about 180 ml, or 3 fingers"),
        ("body", "How it runs", ""),
        ("ph", "A pH strip", "3.5"),
        ("surface", "What the surface shows", ""),
        ("discharge", "How long a dropper of it takes to run out", "11 s"),
        ("ten_drops", "Ten drops, weighed", "0.42 g"),
        ("mass", "Its weight", "212 g"),
        ("temperature", "How warm it is", "18 °C"),
        ("specific_gravity", "Its weight against water", "1.024"),
        ("dry_residue", "What a measured spoonful leaves dry", "95 g/L"),
        ("total_iron", "Its iron, from a laboratory", "4.5 g/L"),
    ),
    "trial": (
        ("depth", "How dark it is beside the page", ""),
        ("hue", "Its colour beside the page", ""),
        ("flow", "How it left the pen", ""),
        ("line_width", "The width of the line", "1.1 mm"),
    ),
    "support": (("absorbency", "How it takes water", ""),),
    "lot": (("mass", "Its weight", "640 g"),),
}


_NAMES = frozenset({"vessel", "into", "from", "name", "support", "pen", "lot"})
_ARTICLE = re.compile(r"^(?:the|my|our|a|an)\s+", re.IGNORECASE)


def _add(bench: Bench, now: str) -> tuple[Field, ...]:
    stuff = tuple(Choice(value=f"lot:{name}", label=name) for name in bench.lots)
    stuff += tuple(Choice(value=f"liquid:{name}", label=name) for name in first_names("liquids"))
    return (
        into(bench, value=bench.vessel),
        Field(name="stuff", label="What", keys=("lot", "liquid"), choices=stuff, other="or something else"),
        Field(
            name="amount",
            label="How much",
            keys=("amount", "up_to"),
            hint="20 g, about 50 ml, two spoons, a third, up to 500 ml",
        ),
        when(now),
    )


def _reduce(bench: Bench, now: str) -> tuple[Field, ...]:
    return (
        vessel(bench, "Which pot"),
        Field(name="to", label="Down to", keys=("to",), hint="about 700 ml, or a third", needed=False),
        Field(
            name="for",
            label="Or for how long",
            keys=("for",),
            hint="25 min, where you did not look to how much",
            needed=False,
        ),
        Field(
            name="heat",
            label="At what heat",
            keys=("heat",),
            choices=named(first_names("measures.heat")),
            needed=False,
        ),
        when(now),
    )


def _pour(bench: Bench, now: str) -> tuple[Field, ...]:
    amounts = named(("all", "half"))
    return (
        vessel(bench, "From", name="from"),
        into(bench),
        Field(
            name="amount", label="How much", keys=("amount",), choices=amounts, other="or so much, as 50 ml"
        ),
        when(now),
    )


def _mark(bench: Bench, now: str) -> tuple[Field, ...]:
    return (
        vessel(bench, "Ink from"),
        Field(
            name="support",
            label="On",
            keys=("support",),
            hint="goat parchment, rag paper",
            choices=named(bench.supports),
            other="or another skin or paper",
            offers=first_names("supports"),
            value=bench.support,
        ),
        Field(
            name="method",
            label="How",
            keys=("method",),
            choices=tuple(Choice(value=w, label=lines.word("method", w)) for w in scale("method").words),
            value=bench.method,
        ),
        Field(
            name="pen",
            label="With",
            keys=("pen",),
            hint="reed 3 mm, goose quill",
            choices=named(bench.pens),
            other="or another pen",
            offers=first_names("pens"),
            needed=False,
            value=bench.pen,
        ),
        Field(
            name="thinned",
            label="Thinned",
            keys=("thinned",),
            hint="1 in 8: one drop of ink in eight",
            needed=False,
        ),
        Field(name="trial", label="Call it", keys=("trial",), value=next_trial(bench.trials)),
        when(now),
    )


def _remark(_bench: Bench, now: str) -> tuple[Field, ...]:
    return (Field(name="text", label="What is worth keeping", keys=("text",), kind="long"), when(now))


@attrs.frozen(kw_only=True)
class Form:
    """One tile at the bench and the questions behind it."""

    name: str
    tile: str
    title: str
    fields: Callable[[Bench, str], tuple[Field, ...]]


FORMS: Mapping[str, Form] = {
    form.name: form
    for form in (
        Form(name="gather", tile="Gather", title="You gather or buy something", fields=soaking.gather),
        Form(name="steep", tile="Soak", title="You put something to soak", fields=soaking.steep),
        Form(name="strain", tile="Strain", title="You strain it", fields=soaking.strain),
        Form(name="rest", tile="Let stand", title="You let it stand", fields=soaking.rest),
        Form(name="add", tile="Add", title="You add something", fields=_add),
        Form(name="reduce", tile="Boil down", title="You boil it down", fields=_reduce),
        Form(name="pour", tile="Pour", title="You pour", fields=_pour),
        Form(name="mark", tile="Make a mark", title="You make a mark with it", fields=_mark),
        Form(name="remark", tile="Remark", title="You want to keep a remark", fields=_remark),
    )
}


def form_of(do: str) -> Form | None:
    """Return the form of a kind of entry: its own, or the plain one of its keys."""
    if do in FORMS:
        return FORMS[do]
    if do not in soaking.TITLES:
        return None
    title = soaking.TITLES[do]
    return Form(name=do, tile=title, title=title, fields=lambda bench, now: soaking.plain(do, bench, now))


def reading_fields(of: str, what: str, now: str, pages: Sequence[str] = ()) -> tuple[Field, ...]:
    """Return the questions of one reading: words to tap, or a number to write."""
    hint = next((hint for key, _, hint in NOTICED.get(of.partition(":")[0], ()) if key == what), "")
    form = readings.FORMS.get(of.partition(":")[0], {}).get(what)
    words = scale(form.words).words if form is not None and form.words else ()
    fields = [
        Field(
            name="value",
            label="You see" if words else "It is",
            keys=("value",),
            hint=hint,
            choices=named(words),
        )
    ]
    if what == "ph":
        fields.append(
            Field(
                name="with",
                label="Read with",
                keys=("with",),
                choices=named(("strip", "meter")),
                needed=False,
            )
        )
    if form is not None and form.water and what == "discharge":
        fields.append(
            Field(
                name="water",
                label="The same of plain water",
                keys=("water",),
                hint="8 s, from the same dropper or syringe, held the same way",
                needed=False,
            )
        )
    if form is not None and form.against and pages:
        beside = Field(
            name="against", label="Beside", keys=("against",), choices=named(pages), value=pages[-1]
        )
        fields.append(beside)
    return (*fields, when(now))


def next_trial(trials: Sequence[str]) -> str:
    """Return the name after the last one that ends in a number: ``t7`` after ``t6``."""
    numbers = [int(found[1]) for name in trials if (found := re.fullmatch(r"t(\d+)", name))]
    return f"t{max(numbers, default=0) + 1}"


def told(action: Mapping[str, Any]) -> dict[str, str] | None:
    """Return the form that says an advised action was done, filled in; None where no form can."""
    kind = str(action.get("kind"))
    if form_of(kind) is None:
        return None
    data = {key: _written(value) for key, value in action.items() if key != "kind"}
    for sort in ("lot", "liquid"):
        if kind == "add" and sort in data:
            data["stuff"] = f"{sort}:{data.pop(sort)}"
    if "up_to" in data:
        data["amount"] = f"up to {data.pop('up_to')}"
    return {"do": kind, **data}


def _written(value: Any) -> str:
    """Return a value as a form sends it."""
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def by_form(heard: Mapping[str, Any]) -> str:
    """Return the address of the form that holds what was understood of a sentence, "" where no form can."""
    entries = [one["entry"] for one in heard.get("entries", ())]
    partial = (heard.get("question") or {}).get("partial")
    entry = partial or (entries[0] if len(entries) == 1 else None) or {}
    if entry.get("kind") == "reading" and entry.get("of") and entry.get("what"):
        data: dict[str, str] | None = {"do": "reading"} | {
            key: _written(value)
            for key, value in entry.items()
            if key != "kind" and not isinstance(value, dict)
        }
    else:
        data = told(entry)
    return f"/?{urlencode(data)}#do" if data else ""


def answer(data: Mapping[str, str], field: Field) -> str:
    """Return what was given for a field: the text beside the choices wins over a tap."""
    written = data.get(f"{field.name}_other", "").strip()
    return written or data.get(field.name, "").strip()


def entry_of(form: str, data: Mapping[str, str], fields: Sequence[Field]) -> dict[str, Any]:
    """Turn a sent form into an entry as the daybook takes it; what was left empty is left out."""
    entry: dict[str, Any] = {"kind": form}
    for field in fields:
        given = answer(data, field)
        if given and field.name in _NAMES:
            # "the blue jar" is called blue jar.
            given = _ARTICLE.sub("", given) or given
        if given:
            entry[field.name] = given
    if form == "add":
        _split_stuff(entry)
    if form == "gather" and "material" in entry:
        entry.setdefault("lot", entry["material"])
    if "covered" in entry:
        entry["covered"] = entry["covered"] == "yes"
    return entry


def lacking(form: str, fields: Sequence[Field], data: Mapping[str, str]) -> tuple[InkhornError, ...]:
    """Return a complaint for each question that a form was sent without an answer to."""
    out: list[InkhornError] = [
        MissingKeyError(
            "nothing is chosen or written here yet", where=field.keys[0], mend=_as_for(field.hint)
        )
        for field in fields
        if field.needed and field.keys and field.kind != "date" and not answer(data, field)
    ]
    if form == "reduce" and not data.get("to", "").strip():
        if not data.get("for", "").strip():
            mend = "Say to how much, or for how long and at what heat"
            out.append(MissingKeyError("nothing says how far it was boiled down", where="to", mend=mend))
        elif not data.get("heat", "").strip():
            mend = "Choose one, or say down to how much"
            out.append(MissingKeyError("nothing says how hot it was", where="heat", mend=mend))
    return tuple(out)


def _as_for(hint: str) -> str:
    return f"For example: {hint}" if hint else ""


def _split_stuff(entry: dict[str, Any]) -> None:
    """Turn what was added into a lot or a liquid, and *up to* into its own key."""
    stuff = entry.pop("stuff", "")
    kind, _, name = stuff.partition(":")
    if kind not in {"lot", "liquid"} or not name:
        kind, name = ("liquid" if stuff.lower() in first_names("liquids") else "lot"), stuff
    if name:
        entry[kind] = name
    amount = entry.get("amount", "")
    if kind == "liquid" and amount.lower().startswith("up to "):
        del entry["amount"]
        entry["up_to"] = amount[len("up to ") :].strip()
