"""Clauses that tell what was noticed: a figure, a word of a scale, three channels, a picture, one trial beside another."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.answer import ask
from inkhorn.sentences.frames import DEFERRED, Clause
from inkhorn.sentences.kinds import settle, timed
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.tokens import Token

Entry = dict[str, Any]
Made = tuple[list[Entry], list[Phrase]]
#: "Until", with nothing that parts it from what follows.
_UNTIL = re.compile(r"\b(?:un)?till?\b[^.,;]*$", re.IGNORECASE)
#: How a liquor runs, from thinnest to thickest.
BODIES = ("watery", "thin", "flows well", "thick", "drags")
#: Verbs that may stand in a reading; any other makes the clause a step.
_VERBS = frozenset(
    {"read", "rest", "give", "hold", "pour", "gather", "get", "run", "put", "dry", "mark", "dip", "lift", "fill", "photograph", "crush", "boil", "made", "declare", "have", "lose"}
)  # fmt: skip
_STEPS = frozenset(
    {
        "dip",
        "gather",
        "get",
        "run",
        "dry",
        "mark",
        "give",
        "pour",
        "boil",
        "fill",
        "put",
        "lift",
        "crush",
        "rest",
        "hold",
    }
)
_DIMENSION = {
    "mass": ("MASS",), "volume": ("VOLUME", "LENGTH"), "temperature": ("TEMP",), "ph": ("NUMBER",), "specific_gravity": ("NUMBER", "CONC"),
    "barkometer": ("BARK", "NUMBER", "TEMP"), "brix": ("BRIX", "NUMBER", "PERCENT"), "dry_residue": ("CONC", "PERCENT"), "viscosity": ("VISCOSITY",),
    "drop_mass": ("MASS",), "ten_drops": ("MASS", "VOLUME"), "discharge": ("TIME",), "total_iron": ("CONC", "PERCENT"), "total_phenols": ("CONC", "PERCENT"),
    "gum": ("CONC", "PERCENT"), "line_width": ("LENGTH",), "raggedness": ("LENGTH",),
}  # fmt: skip
_BARE = frozenset({"ph", "specific_gravity", "barkometer", "brix"})
_ABOVE = frozenset({"more_than", "above", "over"})
_BELOW = frozenset({"less_than", "under"})
_OF_TRIAL = frozenset({"line_width", "raggedness"})
_KEEP_TOOL = {
    "ph": {"strip", "ph meter"}, "brix": {"refractometer"}, "viscosity": {"viscometer", "laboratory"}, "discharge": {"syringe", "3 mm cup", "4 mm cup", "5 mm cup", "6 mm cup"},
    "total_iron": {"laboratory", "test strip"}, "total_phenols": {"laboratory"}, "temperature": {"thermometer"}, "specific_gravity": {"hydrometer", "laboratory"},
}  # fmt: skip


@attrs.define(kw_only=True)
class _Noticing:
    """A clause while it is read: what of it found a place."""

    clause: Clause
    used: set[int] = attrs.field(factory=set)
    out: list[Entry] = attrs.field(factory=list)

    def take(self, phrase: Phrase) -> Phrase:
        self.used.add(phrase.start)
        return phrase

    def free(self, *types: str) -> Iterator[Phrase]:
        for phrase in self.clause.phrases:
            if phrase.start not in self.used and phrase.type in types:
                yield phrase

    def amounts(self, *types: str) -> Iterator[Phrase]:
        for phrase in self.clause.phrases:
            if phrase.start not in self.used and phrase.amount is not None and phrase.amount.type in types:
                yield phrase

    def what(self) -> Token | None:
        return self.clause.single("WHAT")

    def subject(self, *sorts: str, key: str = "of") -> str | None:
        """Return the thing that is read, of the first of some sorts that the clause names."""
        for sort in sorts:
            for phrase in self.free(sort.upper()):
                if (
                    phrase.amount is not None
                    and sort == "lot"
                    and phrase.amount.type not in ("MASS", "VOLUME", "PERCENT", "CONC", "SHARE")
                ):
                    continue
                if phrase.amount is None:
                    self.take(phrase)
                name = settle(phrase.thing, key) if phrase.thing else ""
                for again in tuple(self.free(sort.upper())):
                    if again.amount is None and again.thing and again.thing.value == name:
                        self.take(again)
                return f"{sort}:{name}"
        return None

    def vessel(self) -> str:
        """Return the vessel read, named or unsaid."""
        named = self.subject("vessel")
        for phrase in self.free(*DEFERRED):
            self.take(phrase)
            if phrase.thing and phrase.thing.value == "?other" and named is None:
                return f"vessel:{self.clause.scene.other()}"
        return named or f"vessel:{self.clause.scene.vessel()}"

    def add(self, of: str, what: str, value: Any, **more: Any) -> None:
        tool = self.tool(what)
        entry: Entry = {"kind": "reading", "of": of, "what": what, "value": value}
        entry |= {k: v for k, v in (("with", tool), *more.items()) if v is not None}
        self.out.append(timed(entry, self.clause))

    def tool(self, what: str) -> str | None:
        for phrase in self.clause.phrases:
            if (
                phrase.sort == "single"
                and phrase.type == "INSTRUMENT"
                and phrase.thing
                and phrase.thing.value in _KEEP_TOOL.get(what, ())
            ):
                return phrase.thing.value
        return None


def read(clause: Clause) -> Made | None:
    """Return the readings that a clause tells and what it leaves unread, or None where it tells none."""
    if any(verb not in _VERBS for verb, _ in clause.verbs):
        return None
    if any(p.thing is not None and p.thing.value == "?both" for p in clause.phrases):
        return None
    for reader in _READERS:
        noticing = _Noticing(clause=clause)
        if not reader(noticing) or not noticing.out:
            continue
        left, unread = _left(noticing)
        if not left:
            return noticing.out, unread
    return None


def _left(noticing: _Noticing) -> tuple[list[Phrase], list[Phrase]]:
    """Return what found no place though it tells something, and what tells nothing."""
    left, unread = [], []
    for phrase in noticing.clause.phrases:
        if phrase.start in noticing.used:
            continue
        kind = phrase.type
        if kind == "PREP" and phrase.thing and phrase.thing.value in ("more_than", "less_than", "above"):
            left.append(phrase)
            continue
        if phrase.sort == "single" and kind in (
            "VERB",
            "PARTICLE",
            "STRAY",
            "COMMA",
            "MANNER",
            "INSTRUMENT",
            "MOMENT",
            "AHEAD",
            "PREP",
            "STRIP",
            "COVER",
            "DECLARE",
        ):
            continue
        if kind in DEFERRED and phrase.amount is None:
            continue
        beside = (
            phrase.bare and kind == "TEMP" and phrase.prep == "at"
        )  # "at 20 degrees", of what it was read at
        if phrase.sort == "spare" or kind in ("WORD", "MANNER") or beside:
            unread.append(phrase)
        else:
            left.append(phrase)
    return left, unread


# ---------------------------------------------------------------- pictures and channels


def _picture(n: _Noticing) -> bool:
    file = n.clause.first("FILE")
    what = n.what()
    snapped = n.clause.has("verb:photograph")
    if file is None and not (what and what.value == "photo") and not snapped:
        return False
    if file is None:
        if n.clause.first("TRIAL", "EXEMPLAR") is None:
            return False
        raise ask("value", "Which file is the picture?", mend="Give the name of the file, for example t2.jpg")
    n.take(file)
    for phrase in n.free("WHAT"):
        n.take(phrase)
    of = n.subject("trial", "exemplar") or _new_exemplar(n)
    if of is None:
        raise ask(
            "of",
            "Of what is the picture?",
            *n.clause.scene.things.trials,
            mend="Name the trial or the exemplar",
        )
    n.add(of, "photo", file.thing.value if file.thing else "")
    return True


def _new_exemplar(n: _Noticing) -> str | None:
    for phrase in n.free("NEWNAME"):
        before = n.clause.said[: phrase.start].rstrip()
        if before.casefold().endswith("exemplar:") or "exemplar" in n.clause.said.casefold():
            n.take(phrase)
            return f"exemplar:{phrase.thing.value}" if phrase.thing else None
    return None


def _channels(n: _Noticing) -> bool:
    lettered = n.clause.single("CHANNELS")
    triple = n.clause.single("TRIPLE")
    if lettered is None and triple is None:
        return False
    whats = {p.thing.value for p in n.clause.phrases if p.sort == "single" and p.type == "WHAT" and p.thing}
    lab = bool(whats & {"lab", "support_lab"}) or (lettered is not None and lettered.value == "Lab")
    if lettered is None and not (lab or "density" in whats):
        return False
    if lettered is not None and (lettered.value == "Lab") != lab:
        return False
    keys = ("L", "a", "b") if lab else ("R", "G", "B")
    token = lettered or triple
    assert token is not None  # noqa: S101 - one of them is there
    value = dict(token.data) if lettered else dict(zip(keys, token.data, strict=True))
    for phrase in n.free("CHANNELS", "TRIPLE", "WHAT"):
        n.take(phrase)
    skins = list(n.free("SUPPORT", "SKIN"))
    of = n.subject("exemplar")
    if of is not None:
        for phrase in skins:
            n.take(phrase)
        for phrase in n.free("LIQUOR"):
            n.take(phrase)
        bare = "support_lab" in whats or bool(skins)
        n.add(of, "support_lab" if lab and bare else "lab" if lab else "optical_density", value)
        return True
    of = n.subject("trial") or (n.subject("support") if lab else None)
    if of is None:
        raise ask(
            "of",
            "Of which trial?",
            *n.clause.scene.things.trials,
            mend="Name the trial, the exemplar or the skin",
        )
    n.add(of, "lab" if lab else "optical_density", value)
    return True


# ---------------------------------------------------------------- trials


#: What a comparative says of a trial held against the original.
_AGAINST = {
    "darker": {"small": "a little dark", "": "too dark", "much": "far too dark"},
    "paler": {"small": "a little pale", "": "too pale", "much": "far too pale"},
    "same": {"small": "right", "": "right", "much": "right"},
}


def _beside_page(n: _Noticing) -> bool:
    """Read "a touch darker than the roll": how deep a trial is against the original."""
    scale = [p for p in n.free("SCALE") if p.thing and p.thing.value.startswith("than:")]
    pages = list(n.free("EXEMPLAR"))
    if len(scale) != 1 or not pages or scale[0].thing is None:
        return False
    word = scale[0].thing.value.partition(":")[2]
    if word not in _AGAINST or n.clause.has("VESSEL", "SUPPORT", "amount"):
        return False
    page = n.take(pages[0]).thing
    for phrase in (scale[0], *n.free("LIQUOR"), *n.free("WHAT")):
        n.take(phrase)
    value = _AGAINST[word][scale[0].thing.tense]
    n.add(_a_trial(n), "depth", value, against=settle(page, "against") if page else None)
    return True


def _a_trial(n: _Noticing) -> str:
    """Return the trial named, or the last one."""
    name = n.subject("trial")
    if name is not None:
        return name
    for phrase in n.free("PRONOUN"):
        n.take(phrase)
    last = n.clause.scene.trial()
    if last is None:
        raise ask("of", "Which trial?", mend="Name the trial")
    return f"trial:{last}"


def _than(n: _Noticing) -> bool:
    scale = [p for p in n.free("SCALE") if p.thing and p.thing.value.startswith("than:")]
    if len(scale) != 1:
        return False
    word = scale[0].thing.value.partition(":")[2] if scale[0].thing else ""
    trials = list(n.free("TRIAL"))
    last = [p for p in n.free("PRONOUN") if p.thing and p.thing.value == "?last"]
    names = [settle(p.thing, "of") for p in trials if p.thing]
    if not trials:
        _than_before(n, word)
        if n.clause.has("P:than", "TIME", "MOMENT", "amount", "VESSEL", "LIQUOR"):
            return False
        raise ask(
            "value",
            f"{word.capitalize()} than which trial?",
            *n.clause.scene.things.trials,
            mend="Name both trials",
        )
    if len(trials) > 2:
        return False
    first = names[0] if len(names) == 2 else n.clause.scene.trial()
    other = names[-1]
    if len(names) == 2 and trials[0].prep in ("than", "against", "with"):
        first, other = names[1], names[0]
    if (
        len(names) == 1
        and last == []
        and trials[0].prep != "than"
        and trials[0].prep not in ("against", "to", "as", "with")
    ):
        raise ask(
            "value",
            f"{word.capitalize()} than which trial?",
            *n.clause.scene.things.trials,
            mend="Name both trials",
        )
    if n.clause.has("VESSEL"):
        return False
    if first is None or first == other:
        raise ask(
            "of", "Which trial, and beside which?", *n.clause.scene.things.trials, mend="Name both trials"
        )
    for phrase in (*trials, *last, scale[0], *n.free("LIQUOR")):
        n.take(phrase)
    n.add(f"trial:{first}", "than", f"{word} {other}")
    return True


def _than_before(n: _Noticing, word: str) -> None:
    """Ask how a vessel is now, where it is told to be other than it was: no reading compares it with a day gone by."""
    if n.clause.has("amount", "LOT", "LIQUID", "MATERIAL", "SUPPORT", "PEN", "EXEMPLAR", "MARC"):
        return
    before = n.clause.has("MOMENT", "TIME") or (n.clause.has("VESSEL") and n.clause.has("P:than"))
    if not before and n.clause.scene.things.trials:
        return
    if word in ("thinner", "thicker"):
        of = n.vessel()
        raise ask(
            "value",
            "How thick is it now: watery, thin, flows well, thick, or drags?",
            *BODIES,
            mend="Say how it runs now",
            partial={"kind": "reading", "of": of, "what": "body"},
        )
    if word in ("darker", "paler") and n.clause.has("VESSEL"):
        raise ask(
            "value",
            f"How dark it is, is told of a trial: {word} than which trial?",
            *n.clause.scene.things.trials,
            mend="Write a trial, and name the one beside it",
        )


def _of_trial(n: _Noticing) -> bool:
    """Read depth, hue and flow of a trial."""
    scales = list(n.free("SCALE"))
    if not scales:
        return False
    by_what: dict[str, list[str]] = {}
    what = n.what()
    trial = n.clause.first("TRIAL")
    for phrase in scales:
        value = phrase.thing.value if phrase.thing else ""
        sort, _, word = value.partition(":")
        if value == "?right":
            hue = what is not None and what.value == "hue"
            sort, word = ("hue" if hue else "depth"), "right"
        elif value == "?flows":
            sort, word = "flow", "flows well"
        elif value in _BARE_SHADES and len(scales) == 1:
            _how_deep(n, value)
        if sort not in ("depth", "hue", "flow"):
            return False
        by_what.setdefault(sort, []).append(word)
    if len(by_what) != 1:
        return False
    ((sort, words),) = by_what.items()
    if sort == "hue" and trial is not None and trial.prep in ("than", "as", "with"):
        raise ask(
            "value", "Blue and brown are told against the original: how is it beside that?", "a little bluer", "bluer", "a little browner",
            "browner", "right", mend="Say the trial and the word",
        )  # fmt: skip
    if len(set(words)) != 1:
        return False
    if trial is None and n.clause.has("verb:mark", "verb:dip") and n.clause.has("METHOD"):
        return False  # a mark was made; what is said of it is another clause
    if sort == "flow" and trial is None and not n.clause.has("METHOD", "PEN"):
        if words == ["flows well"] or n.clause.scene.trial() is None:
            return False
        raise ask("of", "Of which trial?", *n.clause.scene.things.trials, mend="Name the trial")
    if n.clause.has("VESSEL") or (n.clause.has("SUPPORT") and sort == "flow"):
        return False
    for phrase in (
        *scales,
        *n.free("WHAT", "METHOD"),
        *(n.free("PEN", "LIQUOR", "CUT") if sort == "flow" else n.free("LIQUOR")),
    ):
        n.take(phrase)
    name = n.subject("trial")
    if name is None:
        last = n.clause.scene.trial()
        if last is None:
            raise ask("of", "Which trial?", mend="Name the trial")
        name = f"trial:{last}"
    more: Entry = {}
    pages = list(n.free("EXEMPLAR"))
    if sort != "flow" and pages:
        page = n.take(pages[0]).thing
        more["against"] = settle(page, "against") if page else None
    n.add(name, sort, words[0], **more)
    return True


#: Words that say a depth or a hue without saying how far it is off.
_BARE_SHADES = {
    "?dark": ("a little dark", "too dark", "far too dark", "right"),
    "?pale": ("a little pale", "too pale", "far too pale", "right"),
    "?blue": ("a little bluer", "bluer", "much bluer", "right"),
    "?brown": ("a little browner", "browner", "much browner", "right"),
}


def _how_deep(n: _Noticing, value: str) -> None:
    """Ask how far off it is, where only "dark" was said; of a pot nothing of it is read."""
    if n.clause.has("amount", "LOT", "LIQUID", "MATERIAL", "SUPPORT", "PEN", "MARC", "CRYSTAL", "CALL"):
        return
    trial = n.clause.first("TRIAL")
    if (
        trial is None
        and not n.clause.has("VESSEL", "LIQUOR", "PRONOUN", "METHOD", "EXEMPLAR")
        and n.clause.verbs
    ):
        return
    if trial is None and (n.clause.has("VESSEL", "LIQUOR") or n.clause.scene.trial() is None):
        raise ask(
            "of", "Colour is told of a trial: which one?", *n.clause.scene.things.trials,
            mend="Write a trial, and say how it looks against the original", mild=True,
        )  # fmt: skip
    of = f"trial:{settle(trial.thing, 'of')}" if trial and trial.thing else f"trial:{n.clause.scene.trial()}"
    raise ask(
        "value", f"How {value[1:]} is it beside the original?", *_BARE_SHADES[value], mend="Say one of these words",
        partial={"kind": "reading", "of": of, "what": "depth" if value in ("?dark", "?pale") else "hue"},
    )  # fmt: skip


def _length(n: _Noticing) -> bool:
    what = n.what()
    words = {p.thing.value for p in n.clause.phrases if p.type == "WHAT" and p.thing}
    ragged = "raggedness" in words
    is_so = any(t.type == "FILL" and t.value == "aux" for t in n.clause.dropped)
    drawn = (
        n.clause.has("METHOD")
        and n.clause.has("TRIAL")
        and (n.clause.has("verb:read") or (is_so and not n.clause.verbs))
    )
    wide = bool(words & {"line_width", "across"}) or drawn
    lengths = list(n.amounts("LENGTH"))
    if not (ragged or wide) or len(lengths) != 1 or (what is None and not drawn):
        return False
    for phrase in (lengths[0], *n.free("WHAT", "METHOD")):
        n.take(phrase)
    name = n.subject("trial")
    if name is None:
        last = n.clause.scene.trial()
        if last is None or n.clause.has("VESSEL", "PEN", "CUT", "SUPPORT", "NEWNAME"):
            return False
        name = f"trial:{last}"
    n.add(name, "raggedness" if ragged else "line_width", _limited(lengths[0]))
    return True


# ---------------------------------------------------------------- skins


def _skin(n: _Noticing) -> bool:
    scales = [p for p in n.free("SCALE") if p.thing]
    takes = [
        p
        for p in n.clause.phrases
        if p.sort == "single"
        and p.thing
        and p.thing.type == "VERB"
        and p.thing.value == "give"
        and p.thing.tense == "order"
    ]
    words = {p.thing.value for p in scales if p.thing}
    sorts = {value.partition(":")[0] for value in words}
    if sorts <= {"side"} and len(words) == 1:
        what, word = "side", next(iter(words)).partition(":")[2]
    elif sorts <= {"absorbency", "?takes"} and words:
        chosen = {"takes" if v == "?takes" else v.partition(":")[2] for v in words}
        if len(chosen) != 1:
            return False
        what, word = "absorbency", chosen.pop()
    elif words == {"?feathers"} and not n.clause.has("amount", "VESSEL", "LOT", "CALL", "DECLARE"):
        of = n.subject("support")
        raise ask(
            "value" if of else "of",
            "Does the skin drink the ink or blot it?"
            if of
            else "Which skin feathers: does it drink the ink or blot it?",
            *(("drinks", "blots") if of else n.clause.scene.things.supports),
            mend="Say the skin, and drinks or blots",
            partial={"kind": "reading", "what": "absorbency", **({"of": of} if of else {})},
        )
    elif not words and takes and n.clause.has("SUPPORT"):
        what, word = "absorbency", "takes"
    else:
        return False
    if n.clause.has("amount", "VESSEL", "LOT", "TRIAL", "CALL", "DECLARE"):
        return False
    for phrase in (*scales, *n.free("WHAT", "LIQUOR")):
        n.take(phrase)
    of = n.subject("support")
    supports = n.clause.scene.things.supports
    if of is None and what == "side" and len(supports) == 1:
        for phrase in n.free("PRONOUN"):
            n.take(phrase)
        of = f"support:{next(iter(supports))}"
    if of is None:
        return False
    n.add(of, what, word)
    return True


# ---------------------------------------------------------------- figures


def _limited(phrase: Phrase, *, bare: bool = False, unit: str = "") -> str:
    """Return the figure of a phrase as a reading has it, with what limits it."""
    qty = phrase.qty
    assert qty is not None  # noqa: S101 - the caller chose an amount
    text = qty.bare(unit) if bare or unit else qty.text
    if phrase.prep in _ABOVE:
        return f"more than {text}"
    if phrase.prep in _BELOW:
        return f"< {text}"
    return text


def _named_figure(n: _Noticing) -> bool:
    """Read a figure whose name is told: pH, density, dry residue, drops, iron, ..."""
    what = _what_of(n)
    if any(_ten(p) for p in n.clause.phrases) and n.clause.has("TIME") and not n.clause.has("LOT", "LIQUID"):
        raise ask(
            "value",
            "Ten drops are told by their weight: what did they weigh?",
            mend="Give the mass or volume of ten drops",
        )
    if what is None or what not in _DIMENSION or what in _OF_TRIAL:
        return False
    several = _several(n, what)
    if several:
        return True
    fits = [p for p in n.amounts(*_DIMENSION[what]) if not _ten(p)]
    water = list(n.free("LIQUID"))
    beside = water[0] if water and what in ("drop_mass", "ten_drops", "discharge") else None
    if beside is not None and beside.amount is not None:
        fits = [p for p in fits if p is not beside]
    figure = next(
        (
            p
            for p in fits
            if (p.prep not in ("as", "for") and p.thing is None)
            or p.type in ("LOT", "LIQUID", "VESSEL", "LIQUOR")
        ),
        None,
    )
    if figure is None:
        bare_number = (
            n.clause.has("NUMBER")
            and not n.clause.has("LOT", "LIQUID", "TRIAL")
            and len(list(n.amounts("NUMBER"))) == 1
        )
        if bare_number and what not in _BARE:
            raise ask("value", "What is its unit?", mend="Give the figure with its unit")
        if n.clause.has("LOT", "LIQUID", "amount"):
            return False
        raise ask("value", "What was the figure?", mend="Give the figure with its unit")
    bare = (
        what in _BARE
        and figure.amount is not None
        and figure.amount.type in ("NUMBER", "TEMP", "BARK", "BRIX")
    )
    n.take(figure)
    if what in _RANGES:
        _within(figure, what)
    if (
        n.clause.said[figure.start : figure.end].casefold().startswith("from ")
        and figure.amount
        and "-" in figure.amount.value
    ):
        raise ask("value", "It changed: what is it now?", mend="Give the figure as it is now")
    value = _limited(attrs.evolve(figure, prep=_limit_before(n, figure) or figure.prep), bare=bare)
    more: Entry = {}
    if beside is not None:
        more["water"] = _of_water(n, beside, figure)
    elif water:
        return False
    _told_as(n, what, more)
    for phrase in n.clause.phrases:
        if (
            phrase.type == "WHAT"
            or _ten(phrase)
            or (phrase.sort == "phrase" and phrase.bare and phrase.prep == "through")
        ):
            n.take(phrase)
    _method_words(n, what)
    of = _subject(n, what, figure)
    if of is None:
        return False
    standard = more.pop("as", "")
    n.add(of, what, f"{value}{standard}", **more)
    return True


_RANGES = {
    "ph": (0, 14),
    "specific_gravity": (0.7, 2),
}  # numbers-in-code: a figure beyond is a slip of the tongue
_ASKS = {
    "ph": "A pH lies between 0 and 14: what was it?",
    "specific_gravity": "A specific gravity is a figure like 1.03: what was it?",
}


def _within(figure: Phrase, what: str) -> None:
    """Ask where a figure lies off its scale."""
    if figure.amount is None or figure.amount.type not in ("NUMBER", "TEMP"):
        return
    low, high = _RANGES[what]
    numbers = [float(text) for text in re.findall(r"\d+(?:\.\d+)?", figure.qty.figure if figure.qty else "")]
    if any(not low <= number <= high for number in numbers):
        raise ask("value", _ASKS[what], mend="Give the figure, for example 3.5 or 1.03")


def _limit_before(n: _Noticing, figure: Phrase) -> str:
    """Return the limit that stands before the name of a figure: "below pH 2"."""
    for phrase in n.clause.phrases:
        limits = phrase.sort == "single" and phrase.type == "PREP" and phrase.thing is not None
        if (
            limits
            and phrase.thing
            and phrase.thing.value in (*_ABOVE, *_BELOW)
            and phrase.start < figure.start
        ):
            return n.take(phrase).thing.value  # type: ignore[union-attr]
    return ""


def _what_of(n: _Noticing) -> str | None:
    words = [p.thing.value for p in n.clause.phrases if p.sort == "single" and p.type == "WHAT" and p.thing]
    words = [w for w in words if w not in ("surface", "side", "flow", "across", "edge")]
    if n.clause.has("CONC", "PERCENT"):
        words = [word for word in words if word != "lab"]
    drop = any(p.type == "METHOD" and p.thing and p.thing.value == "drop" for p in n.clause.phrases)
    if (
        drop
        and not words
        and n.clause.has("MASS")
        and not n.clause.has("LOT", "LIQUID_ADD", "TRIAL", "SUPPORT")
    ):
        return "drop_mass"
    tools = {
        p.thing.value for p in n.clause.phrases if p.sort == "single" and p.type == "INSTRUMENT" and p.thing
    }
    drops = any(_ten(p) for p in n.clause.phrases)
    one = next(
        (p for p in n.clause.phrases if p.qty is not None and p.qty.text in ("1 drop", "1 drops")), None
    )
    if one is not None and n.clause.has("MASS") and not n.clause.has("LOT", "TRIAL", "SUPPORT", "DILUTION"):
        n.take(one)
        return "drop_mass"
    if "density" in words:
        return "specific_gravity" if n.clause.has("NUMBER", "CONC") else None
    if words:
        return "ten_drops" if drops and words[0] == "mass" else words[0]
    if drops and n.clause.has("MASS", "VOLUME") and not n.clause.has("LOT", "LIQUID_ADD"):
        return "ten_drops" if sum(1 for p in n.clause.phrases if p.amount) > 1 else None
    if n.clause.has("BARK") or "barkometer" in tools:
        return "barkometer"
    if n.clause.has("BRIX") or ("refractometer" in tools and n.clause.has("NUMBER", "PERCENT")):
        return "brix"
    if n.clause.has("VISCOSITY"):
        return "viscosity"
    if "hydrometer" in tools and n.clause.has("NUMBER"):
        return "specific_gravity"
    if "strip" in tools and n.clause.has("NUMBER") and not n.clause.has("CONC"):
        return "ph"
    if "test strip" in tools and n.clause.has("CONC"):
        return "total_iron"
    if _runs_out(n) and n.clause.has("TIME"):
        return "discharge"
    if n.clause.has("CONC", "PERCENT") and _gum(n):
        return "gum"
    return None


def _gum(n: _Noticing) -> bool:
    return any(
        n.clause.scene.role(name) == "gum" for p in n.clause.all("LOT") if p.thing for name in p.thing.names
    )


def _runs_out(n: _Noticing) -> bool:
    said = n.clause.said.casefold()
    tools = {p.thing.value for p in n.clause.phrases if p.type == "INSTRUMENT" and p.thing}
    return (
        bool(tools & {"syringe", "cup", "3 mm cup", "4 mm cup", "5 mm cup", "6 mm cup"})
        or "run out" in said
        or "ran out" in said
    )


def _ten(phrase: Phrase) -> bool:
    return phrase.qty is not None and phrase.qty.text in ("10 drop", "10 drops")


def _several(n: _Noticing, what: str) -> bool:
    """Read one figure after the other: "pH of the pot 4, of the crock 3.2"."""
    vessels = [p for p in n.free("VESSEL") if p.thing and p.thing.value]
    figures = [p for p in n.amounts(*_DIMENSION[what]) if p.bare]
    if len(vessels) != 2 or len(figures) != 2:
        return False
    order = sorted((*vessels, *figures), key=lambda p: p.start)
    if [p in vessels for p in order] != [True, False, True, False]:
        return False
    for phrase in (*order, *n.free("WHAT")):
        n.take(phrase)
    for vessel, figure in ((order[0], order[1]), (order[2], order[3])):
        n.add(
            f"vessel:{vessel.thing.value if vessel.thing else ''}", what, _limited(figure, bare=what in _BARE)
        )
    return True


def _of_water(n: _Noticing, beside: Phrase, figure: Phrase) -> str | None:
    n.take(beside)
    if beside.qty is not None:
        return _with_unit(beside, figure)
    for phrase in n.amounts("NUMBER", *(() if figure.amount is None else (figure.amount.type,))):
        if phrase.start > beside.start or beside.prep == "for":
            n.take(phrase)
            return _with_unit(phrase, figure)
    raise ask("water", "What was the figure with water?", mend="Give it with its unit")


def _with_unit(phrase: Phrase, figure: Phrase) -> str:
    qty, beside = phrase.qty, figure.qty
    assert qty is not None  # noqa: S101 - both are amounts
    assert beside is not None  # noqa: S101 - both are amounts
    return qty.bare(beside.unit) if qty.dimension == "number" else qty.text


def _told_as(n: _Noticing, what: str, more: Entry) -> None:
    """Read "as tannic acid" of phenols."""
    if what != "total_phenols":
        return
    for phrase in n.clause.phrases:
        if phrase.type not in ("LOT", "MATERIAL") or phrase.thing is None:
            continue
        if phrase.prep == "as" or (phrase.prep == "in" and phrase.thing.value.endswith("acid")):
            n.take(phrase)
            name = n.clause.said[phrase.thing.start : phrase.thing.end].casefold()
            if name != "gallic acid":
                more["as"] = f" as {name}"


def _method_words(n: _Noticing, what: str) -> None:
    for phrase in n.free("METHOD"):
        if what in ("drop_mass", "ten_drops"):
            n.take(phrase)


def _subject(n: _Noticing, what: str, figure: Phrase) -> str | None:
    """Return what a figure was read of."""
    if n.clause.has("TRIAL", "EXEMPLAR", "SUPPORT"):
        return None
    vessel = n.clause.first("VESSEL")
    if what == "gum" and figure.amount is not None and figure.amount.type == "CONC" and vessel is None:
        for phrase in n.free("LOT", "LIQUOR"):  # so much in a litre is of a liquor, never of the gum itself
            n.take(phrase)
        return n.vessel()
    lots = [p for p in n.free("LOT") if p.prep != "as"] + ([figure] if figure.type == "LOT" else [])
    if what == "gum" and vessel is not None:
        for phrase in lots:  # the gum that is dissolved in it
            n.take(phrase)
        return n.vessel()
    if vessel is not None or (n.clause.has("LIQUOR") and not lots):
        if lots:
            return None
        return n.vessel()
    if lots:
        if len(lots) > 1 and len({settle(p.thing, "of") for p in lots if p.thing}) > 1:
            return None
        for phrase in lots:
            n.take(phrase)
        if n.clause.has("LIQUOR"):
            return n.vessel()
        return f"lot:{settle(lots[0].thing, 'of')}" if lots[0].thing else None
    if n.clause.has("MATERIAL"):
        return None
    return n.vessel()


def _weight_or_level(n: _Noticing) -> bool:
    """Read what a thing weighs or fills: "weighed the cones: 1050 g", "there is 850 ml left"."""
    verbs = {verb for verb, _ in n.clause.verbs}
    said = f" {n.clause.said.casefold()} "
    weighs = " weigh" in said
    if n.clause.has(
        "LIQUID",
        "MATERIAL",
        "TRIAL",
        "SUPPORT",
        "PEN",
        "CUT",
        "MARC",
        "CRYSTAL",
        "NEWNAME",
        "TEMP",
        "AGAIN",
        "ARROW",
        "P:into",
    ):
        return False
    if any(verb not in ("read", "rest", "fill", "put", "hold", "have") for verb in verbs):
        return False
    if "put" in verbs and n.clause.has("LOT"):
        return False  # "weighed 40 g of vitriol and put it in"
    masses, volumes = list(n.amounts("MASS")), list(n.amounts("VOLUME", "LENGTH"))
    lots = list(n.free("LOT"))
    told = weighs or _stands(n) or (bool(lots) and not verbs and n.clause.has("P:down_to"))
    told = (
        told or (not verbs and _is_in(n)) or any(p.thing and p.thing.value == "full" for p in n.free("WHAT"))
    )
    ours = n.clause.ours and not verbs and (bool(lots) or n.clause.has("P:down_to"))
    told = (
        told
        or ours
        or (
            not verbs
            and n.clause.has("LIQUOR")
            and n.clause.has("VOLUME", "MASS", "LENGTH")
            and not n.clause.has("P:into", "P:to", "VESSEL")
        )
    )
    if "hold" in verbs and n.clause.has("VOLUME") and not lots:
        if "contain" not in said and " now " not in said:
            raise ask(
                "value",
                "Is that what is in it, or what it holds to the brim?",
                mend="Say “there is … in it”, or “it holds … to the brim”",
            )
        told = True
    if not told:
        return False
    if (
        lots
        and len(masses) + len(volumes) == 1
        and (weighs or verbs & {"fill", "rest"} or " left " in said or n.clause.has("P:down_to") or ours)
    ):
        figure = (masses or volumes)[0]
        n.take(figure)
        for phrase in (*lots, *n.free("VESSEL")):
            n.take(phrase)
        what = "mass" if masses else "volume"
        n.add(f"lot:{settle(lots[0].thing, 'of')}" if lots[0].thing else "", what, _limited(figure))
        return True
    if lots:
        return False
    if _fullness(n):
        return True
    if weighs:
        if n.clause.has("NUMBER"):
            raise ask("value", "What is its unit?", "g", "kg", mend="Give the weight with its unit")
        if not masses:
            raise ask("value", "What did it weigh?", mend="Give the weight")
        n.take(masses[0])
        n.add(n.vessel(), "mass", _limited(masses[0]))
        return True
    if (
        len(volumes) == 1
        and not masses
        and not n.clause.has("SHARE", "TIME", "P:to", "P:up_to", "P:from")
        and (ours or not n.clause.has("P:down_to"))
    ):
        n.take(volumes[0])
        for phrase in n.free("WHAT"):
            if phrase.thing and phrase.thing.value in ("deep", "volume"):
                n.take(phrase)
        n.add(n.vessel(), "volume", _limited(volumes[0]))
        return True
    return False


def _is_in(n: _Noticing) -> bool:
    """Return whether a clause without a verb is "850 ml in the pot", of a pot that holds something."""
    vessel = n.clause.first("VESSEL")
    held = vessel is not None and vessel.thing is not None and vessel.thing.value in n.clause.scene.holding()
    return (
        held
        and vessel is not None
        and vessel.prep == "in"
        and n.clause.has("VOLUME")
        and not n.clause.has("LIQUOR", "SHARE")
    )


def _fullness(n: _Noticing) -> bool:
    """Read "the jar is half full": a share of what it holds to the brim, where that is known."""
    full = next((p for p in n.free("WHAT") if p.thing and p.thing.value == "full"), None)
    if full is None or n.clause.has("MASS", "VOLUME", "LENGTH", "TIME", "LOT"):
        return False
    shares = list(n.amounts("SHARE", "PERCENT"))
    if len(shares) > 1:
        return False
    of = n.vessel()
    thing = n.clause.scene.things.vessels.get(of.partition(":")[2])
    share = _share_of(shares[0]) if shares else 1.0
    if thing is None or thing.capacity is None or share is None:
        raise ask(
            "value",
            "How much is in it?",
            mend="Give a volume, or fingers of depth",
            partial={"kind": "reading", "of": of, "what": "volume"},
        )
    for phrase in (full, *shares):
        n.take(phrase)
    hedge = (shares[0].qty.hedge if shares and shares[0].qty else "") or "about"
    n.add(of, "volume", f"{hedge} {share * thing.capacity.value:.6g} {thing.capacity.unit}".strip())
    return True


def _share_of(phrase: Phrase) -> float | None:
    """Return a share as a number, or None."""
    qty = phrase.qty
    assert qty is not None  # noqa: S101 - the caller chose an amount
    text = f"{qty.figure} %" if qty.dimension == "percent" else qty.figure
    try:
        return read_quantity(text, expect=("fraction",), measures=measures()).value
    except QuantityError:
        return None


def _stands(n: _Noticing) -> bool:
    """Return whether a clause says that so much is there."""
    said = f" {n.clause.said.casefold()} "
    verbs = {verb for verb, _ in n.clause.verbs}
    there = any(
        t.type == "FILL"
        and n.clause.said[t.start : t.end].casefold() in ("there", "is", "now", "still", "left", "holds")
        for t in n.clause.dropped
    )
    return there or bool(verbs & {"read", "rest", "fill"}) or " left" in said


def _warmth(n: _Noticing) -> bool:
    """Read how warm a vessel is."""
    warm = list(n.amounts("TEMP"))
    verbs = {verb for verb, _ in n.clause.verbs}
    what = n.what()
    named = what is not None and what.value == "temperature"
    tool = "thermometer" in n.clause.said.casefold()
    if (named or tool) and not warm and n.clause.has("NUMBER"):
        raise ask("value", "Degrees of which scale: C or F?", mend="Give it with its unit")
    if len(warm) != 1 or n.clause.has(
        "LOT", "LIQUID", "MATERIAL", "MASS", "VOLUME", "TIME", "P:to", "P:until"
    ):
        return False
    if verbs - {"read", "rest"}:
        return False
    is_so = any(
        t.type in ("FILL", "S")
        and n.clause.said[t.start : t.end].casefold() in ("is", "was", "'s", "are", "s", "now", "still")
        for t in n.clause.dropped
    )
    if not (named or is_so or verbs or "thermometer" in n.clause.said.casefold()):
        return False
    for phrase in (warm[0], *n.free("WHAT")):
        n.take(phrase)
    n.add(n.vessel(), "temperature", _limited(warm[0]))
    return True


def _body(n: _Noticing) -> bool:
    """Read how a liquor runs, and its top."""
    chosen: list[tuple[str, str, Phrase]] = []
    for phrase in n.free("SCALE"):
        value = phrase.thing.value if phrase.thing else ""
        sort, _, word = value.partition(":")
        if value == "?mould" and not n.clause.has("TRIAL", "LOT", "SUPPORT", "amount", "PEN", "METHOD"):
            raise ask(
                "value",
                "Spots of mould, or a skin of mould?",
                "mould spots",
                "mould skin",
                mend="Say which of the two",
                partial={"kind": "reading", "of": n.vessel(), "what": "surface"},
            )
        if value in ("?thin", "?thick", "?flows"):
            sort, word = "body", {"?thin": "thin", "?thick": "thick", "?flows": "flows well"}[value]
        if sort not in ("body", "surface"):
            return False
        chosen.append((sort, word, phrase))
    if not chosen or n.clause.has("TRIAL", "LOT", "SUPPORT", "amount", "METHOD"):
        return False
    if n.clause.has("PEN") and any(sort != "body" for sort, _, _ in chosen):
        return False
    for phrase in n.free("PEN"):
        n.take(phrase)  # "the reed drags"
    top = [phrase for sort, _, phrase in chosen if sort == "surface"]
    if top and (n.clause.has("verb:put") or _UNTIL.search(n.clause.said[: top[0].start])):
        return False  # "until a skin has formed" is how long, not what is there
    words = {(sort, word) for sort, word, _ in chosen}
    if len({sort for sort, _ in words}) != len(words):
        return False
    for phrase in (*(p for _, _, p in chosen), *n.free("WHAT")):
        n.take(phrase)
    of = n.vessel()
    for sort, word in sorted(words):
        n.add(of, sort, word)
    return True


_READERS: Sequence[Callable[[_Noticing], bool]] = (
    _picture, _channels, _beside_page, _than, _of_trial, _length, _skin, _named_figure, _weight_or_level, _warmth, _body,
)  # fmt: skip
