"""How a trial looks and how it left the pen: beside another trial, beside the original, by the words of a scale."""

from __future__ import annotations

from inkhorn.sentences.answer import ask
from inkhorn.sentences.noticing import Entry, Noticing, limited
from inkhorn.sentences.settling import settle

#: How a liquor runs, from thinnest to thickest.
BODIES = ("watery", "thin", "flows well", "thick", "drags")


#: What a comparative says of a trial held against the original.
_AGAINST = {
    "darker": {"small": "a little dark", "": "too dark", "much": "far too dark"},
    "paler": {"small": "a little pale", "": "too pale", "much": "far too pale"},
    "same": {"small": "right", "": "right", "much": "right"},
}


_TURNED = {"darker": "paler", "paler": "darker"}


def beside_page(n: Noticing) -> bool:
    """Read "a touch darker than the roll": how deep a trial is against the original."""
    scale = [p for p in n.free("SCALE") if p.thing and p.thing.value.startswith("than:")]
    pages = list(n.free("EXEMPLAR"))
    if len(scale) != 1 or not pages or scale[0].thing is None:
        return False
    word = scale[0].thing.value.partition(":")[2]
    if word not in _AGAINST or n.clause.has("VESSEL", "SUPPORT", "amount"):
        return False
    page = n.take(pages[0]).thing
    first = pages[0].start < scale[0].start and not pages[0].prep  # "the roll is darker"
    if (
        first
        and word != "same"
        and any(p.start < pages[0].start and not p.prep for p in n.free("TRIAL", "PRONOUN", "METHOD"))
    ):
        return False
    if first and word in _TURNED:
        word = _TURNED[word]
    for phrase in (scale[0], *n.free("LIQUOR"), *n.free("WHAT")):
        n.take(phrase)
    value = _AGAINST[word][scale[0].thing.tense]
    n.add(_a_trial(n), "depth", value, against=settle(page, "against") if page else None)
    return True


def _a_trial(n: Noticing) -> str:
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


def than(n: Noticing) -> bool:
    """Read one trial held beside another."""
    scale = [p for p in n.free("SCALE") if p.thing and p.thing.value.startswith("than:")]
    if len(scale) != 1:
        return False
    word = scale[0].thing.value.partition(":")[2] if scale[0].thing else ""
    trials = list(n.free("TRIAL"))
    last = [p for p in n.free("PRONOUN") if p.thing and p.thing.value == "?last"]
    names = [settle(p.thing, "of") for p in trials if p.thing]
    if len(names) == 3 and len(set(names)) == 2:  # "of t1 and t4, t1 is the paler": the one named twice
        again = max((n for n, name in enumerate(names) if names.count(name) == 2), default=0)
        other = next(name for name in names if names.count(name) == 1)
        for phrase in (*trials, *last, scale[0], *n.free("LIQUOR")):
            n.take(phrase)
        n.add(f"trial:{names[again]}", "than", f"{word} {other}")
        return True
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


def _than_before(n: Noticing, word: str) -> None:
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


def of_trial(n: Noticing) -> bool:
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
        fresh = n.clause.scene.last("mark")
        newest = n.clause.scene.last()
        said = n.clause.scene.now
        just = fresh is not None and fresh.recorded_at == said  # a trial made in the same sentence
        of_one = (
            newest is not None
            and newest.recorded_at == said
            and str(newest.raw.get("of", "")).startswith("trial:")
        )
        if (just or of_one) and not n.clause.has("VESSEL", "LIQUOR", "SUPPORT"):
            for phrase in (*scales, *n.free("PRONOUN", "WHAT")):
                n.take(phrase)
            n.add(
                str(newest.raw["of"]) if of_one and newest else f"trial:{n.clause.scene.trial()}",
                sort,
                words[0],
            )
            return True
        if words == ["flows well"] or n.clause.scene.trial() is None:
            return False
        raise ask("of", "Of which trial?", *n.clause.scene.things.trials, mend="Name the trial", mild=True)
    if n.clause.has("VESSEL") or (n.clause.has("SUPPORT") and sort == "flow"):
        return False
    if sort == "flow" and len({p.thing.names for p in n.free("PEN") if p.thing}) > 1:
        return False  # "quill skips, reed flows"
    last = _last_such(n)
    for phrase in (
        *scales,
        *n.free("WHAT", "METHOD"),
        *(n.free("PEN", "LIQUOR", "CUT") if sort == "flow" else n.free("LIQUOR")),
    ):
        n.take(phrase)
    name = n.subject("trial")
    if name is None:
        if last is None:
            raise ask("of", "Which trial?", *n.clause.scene.things.trials, mend="Name the trial")
        name = f"trial:{last}"
    more: Entry = {}
    pages = list(n.free("EXEMPLAR"))
    if sort != "flow" and pages:
        page = n.take(pages[0]).thing
        more["against"] = settle(page, "against") if page else None
    n.add(name, sort, words[0], **more)
    return True


#: Ways of making a trial that are all spoken of as strokes.
_STROKES = frozenset({"pen", "line", "pangram"})


def _last_such(n: Noticing) -> str | None:
    """Return the trial left unsaid: the last, or the last that was made as is told ("the drop", "the quill")."""
    scene = n.clause.scene
    methods = {p.thing.value for p in n.free("METHOD") if p.thing}
    pens = [set(p.thing.names) or {p.thing.value} for p in n.free("PEN") if p.thing]
    cuts = {p.thing.value for p in n.free("CUT") if p.thing}
    named = {name for names in pens for name in names}
    named |= {name for name, thing in scene.things.pens.items() if thing.material in cuts}
    if "pen" in methods:
        methods |= _STROKES  # "the stroke" may be of a line
    if (pens or cuts) and not named:
        return None
    found = scene.trial(methods, named)
    if found is None and methods <= _STROKES:
        found = scene.trial(_STROKES if methods else (), named)
    return found


#: Words that say a depth or a hue without saying how far it is off.
_BARE_SHADES = {
    "?dark": ("a little dark", "too dark", "far too dark", "right"),
    "?pale": ("a little pale", "too pale", "far too pale", "right"),
    "?blue": ("a little bluer", "bluer", "much bluer", "right"),
    "?brown": ("a little browner", "browner", "much browner", "right"),
}


def _how_deep(n: Noticing, value: str) -> None:
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


def length(n: Noticing) -> bool:
    """Read how wide a stroke is, or how ragged."""
    what = n.what()
    words = {p.thing.value for p in n.clause.phrases if p.type == "WHAT" and p.thing}
    ragged = "raggedness" in words
    drawn = (
        n.clause.has("METHOD") and n.clause.has("TRIAL") and (n.clause.has("verb:read") or not n.clause.verbs)
    )
    lengths = list(n.amounts("LENGTH"))
    newest = n.clause.scene.last()
    came_out = (
        newest is not None
        and newest.kind == "mark"
        and newest.raw["method"] in _STROKES
        and n.clause.has("verb:read")
        and not n.clause.has("VESSEL", "LIQUOR", "SUPPORT", "LOT", "PEN")
        and all(p.qty is not None and p.qty.unit == "mm" for p in lengths)
    )
    wide = bool(words & {"line_width", "across"}) or drawn or came_out
    if ragged and wide and len(words) > 1:
        return False  # "line 2 mm wide, edges clean"
    if not (ragged or wide) or len(lengths) != 1 or (what is None and not drawn and not came_out):
        return False
    if came_out:
        for phrase in n.free("PRONOUN"):
            n.take(phrase)
    last = _last_such(n)
    for phrase in (lengths[0], *n.free("WHAT", "METHOD")):
        n.take(phrase)
    name = n.subject("trial")
    if name is None:
        if last is None or n.clause.has("VESSEL", "PEN", "CUT", "SUPPORT", "NEWNAME"):
            return False
        name = f"trial:{last}"
    n.add(name, "raggedness" if ragged else "line_width", limited(lengths[0]))
    return True
