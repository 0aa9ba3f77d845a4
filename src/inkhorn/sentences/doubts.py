"""Words that may turn what was said, though no entry holds them: "added 3 g, or was it 4", "twice over", "(?)".

They are no amount, name or time, so the look over what was told passes them by; but an entry made in spite of
them may be wrong. Each wants a yes.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.segments import WHY, Segment
from inkhorn.sentences.tokens import Token

Entry = Mapping[str, Any]
#: Small words that say that a thing was done more than once, or to more than one.
_MULTIPLE = frozenset(
    {"twice over", "several times", "a few times", "once or twice", "each", "for each", "each one", "each time", "in each", "both", "to both", "in both", "into both"}
)  # fmt: skip
#: Kinds of which a second one is another amount.
_COUNTED = frozenset(
    {"add", "pour", "discard", "gather", "reduce", "neutralise", "mark", "steep", "weather", "rest", "warm"}
)
#: Prepositions that set a limit, where nothing stands behind them: "3 g, at most".
_LIMITS = frozenset({"under", "above", "more_than", "less_than", "up_to"})
_NAMED = frozenset(
    {"VESSEL", "LOT", "LIQUID", "MATERIAL", "CRYSTAL", "MARC", "SUPPORT", "SKIN", "PEN", "CUT", "TRIAL", "EXEMPLAR", "NEWNAME", "SCALE",
     "MOMENT", "WHAT", "METHOD", "PRONOUN", "LIQUOR"}
)  # fmt: skip
_SMALL = frozenset({"FILL", "S", "SUBJECT", "PREP", "PARTICLE", "PLUS", "STRAY", "AHEAD"})


def doubts(
    said: str, typed: Sequence[Token], parts: Sequence[Segment], entries: Sequence[Entry]
) -> tuple[str, ...]:
    """Return the words for which a yes is wanted before the entries are recorded.

    Parameters
    ----------
    said : str
        The sentence.
    typed : sequence of Token
        Its typed tokens.
    parts : sequence of Segment
        Its segments.
    entries : sequence of dict
        What was made of them.
    """
    if not entries:
        return ()
    found = [said[part.start : part.end] for part in parts if _hangs(part, typed, said)]
    found += [said[a.start : b.end] for a, b in itertools.pairwise(parts) if _still_held(a, b)]
    found += _asked_in_the_midst(said, typed)
    found += [
        told[0] for told in re.finditer(r"\b(?:let['’]?s say|let us say|call it)\b", said, re.IGNORECASE)
    ]
    found += _limits(said, typed)
    found += [said[t.start : t.end] for t in typed if t.type == "FILL" and t.value == "weighty"]
    found += _multiples(said, typed, entries)
    found += _of_another(said, typed, entries)
    return tuple(dict.fromkeys(found))


def _still_held(one: Segment, other: Segment) -> bool:
    """Return whether what was not done may go on over "and": "nearly tipped the jar and spilt half"."""
    verb = any(t.type == "VERB" for t in other.tokens)
    own = any(t.type == "SUBJECT" for t in other.dropped)
    return (
        bool(one.stance)
        and not one.contrast
        and other.joint == "AND"
        and not other.stance
        and verb
        and not own
    )


def _hangs(part: Segment, typed: Sequence[Token], said: str) -> bool:
    """Return whether a stretch that makes no entry may speak of what is told beside it."""
    inside = [t for t in typed if part.start <= t.start and t.end <= part.end]
    names = any(t.type in _NAMED for t in part.tokens)
    amounts = any(t.qty is not None for t in part.tokens)
    verbs = any(t.type == "VERB" for t in part.tokens)
    if part.contrast or (not part.stance and not part.tokens and any(t.type == "NOT" for t in inside)):
        return amounts or not names  # "not all of it", "not 900", "not sure I", "not"
    if part.stance:
        planned = part.plan and verbs
        lasts = [
            t for t in part.tokens if t.type == "TIME" or (t.type == "MOMENT" and t.data.role == "until")
        ]
        if (
            part.plan
            and lasts
            and not any(t.type in ("LOT", "LIQUID", "VESSEL", "MASS", "VOLUME") for t in part.tokens)
        ):
            return True  # "a full day it shall stand" may be how long
        told = [said[t.start : t.end].casefold() for t in part.tokens if t.type == "MOMENT"]
        if part.stance == WHY["NOT"] and any(moment not in ("today", "now") for moment in told):
            return True  # "forgot this: Monday at five, 3 g"
        return (amounts and not planned) or not (verbs or names or amounts)
    return part.joint == "OR"  # "or more", "boil it for an hour or until a litre is left"


def _asked_in_the_midst(said: str, typed: Sequence[Token]) -> Iterator[str]:
    """Yield a question mark that asks of a word and not of the sentence: "3 g (?) of gum"."""
    for before, token in itertools.pairwise(typed):
        if token.type == "QUERY" and before.type in ("COMMA", "STOP"):
            yield said[token.start : token.end]


def _limits(said: str, typed: Sequence[Token]) -> Iterator[str]:
    """Yield what sets a limit to an amount before it that was taken for the amount itself."""
    for place, token in enumerate(typed):
        after = next((t for t in typed[place + 1 :] if t.type not in ("FILL", "S")), None)
        last = after is None or after.type in ("COMMA", "STOP", "BUT", "AND", "THEN")
        if token.type == "PREP" and token.value in _LIMITS and last and any(t.qty for t in typed[:place]):
            yield said[token.start : token.end]


def _multiples(said: str, typed: Sequence[Token], entries: Sequence[Entry]) -> Iterator[str]:
    """Yield words for more than once or more than one, where one entry was made that counts."""
    counted = [entry for entry in entries if entry["kind"] in _COUNTED]
    if len(counted) != 1:
        return
    for token in typed:
        word = re.sub(r"\s+", " ", said[token.start : token.end].casefold())
        stirred = re.search(r"\b(?:stir|skim|shak|turn|look)\w*[^,.;]{0,24}$", said[: token.start].casefold())
        many = token.value == "?both" or (word in _MULTIPLE and token.type in _SMALL | {"PRONOUN", "AGAIN"})
        if many and not stirred:
            yield said[token.start : token.end]


#: Words that choose among several of which none is named.
_ORDINALS = re.compile(
    r"\b(?:first|second|third|fourth|earlier|older|previous|former|next to last|last but one)\b"
)
_THINGS = frozenset({"PEN", "CUT", "SUPPORT", "SKIN", "VESSEL"})


def _of_another(said: str, typed: Sequence[Token], entries: Sequence[Entry]) -> Iterator[str]:
    """Yield words that say that another thing is meant than the one that was taken: "the first one", "a new quill"."""
    declared = any(
        entry["kind"] in ("vessel", "support", "pen", "gather", "bring", "amend", "void") for entry in entries
    )
    trials = {
        str(entry.get("of", "")).partition(":")[2]
        for entry in entries
        if str(entry.get("of", "")).startswith("trial:")
    }
    text = said.casefold()
    if trials and not any(t.type in ("TRIAL", "NEWNAME") for t in typed):
        yield from (
            said[f.start() : f.end()] for f in _ORDINALS.finditer(text) if not _passed(typed, f.start())
        )
    marked = any(
        e["kind"] == "mark" and "pen" not in e and e["method"] in ("pen", "line", "pangram") for e in entries
    )
    if marked and not any(t.type in ("PEN", "CUT") for t in typed):  # "with the brush": no pen that is here
        yield from (said[t.start : t.end] for t in typed if t.type == "MANNER" and t.value == "tool")
    for before, token in itertools.pairwise(typed):
        if before.type == "FILL" and before.value == "new" and token.type in _THINGS and not declared:
            yield said[before.start : token.end]


def _passed(typed: Sequence[Token], at: int) -> bool:
    """Return whether a word is part of a longer one that is read ("first thing", "second coat")."""
    return any(t.start <= at < t.end and t.type not in ("FILL", "WORD", "PRONOUN") for t in typed)


def at_odds(entries: Sequence[Entry]) -> str:
    """Return the reading of which a sentence gives two figures for one time: "the reed skips, the quill floods"; or ""."""
    seen: dict[tuple[str, ...], Any] = {}
    for entry in entries:
        if entry["kind"] != "reading" or entry["what"] in ("than", "photo"):
            continue
        key = tuple(str(entry.get(name, "")) for name in ("of", "what", "against", "at", "with"))
        if key in seen and seen[key] != entry["value"]:
            return f"{entry['what'].replace('_', ' ')} of {str(entry['of']).partition(':')[2]}"
        seen[key] = entry["value"]
    return ""


_MIDDAY = 12
#: Steps that last.
_LASTING = frozenset({"reduce", "rest", "warm"})
#: Hours at which few are at the bench (common practice): a bare hour that falls there wants a yes.
_BY_NIGHT = (22, 6)  # numbers-in-code: clock hours, from ten in the evening to six


def _by_night(typed: Sequence[Token], said: str, entries: Sequence[Entry]) -> list[str]:
    """Return a bare hour that was taken for one of the night: "half four", said at noon."""
    out = []
    stamps = {str(entry["at"])[:16] for entry in entries if "at" in entry}
    for token in typed:
        told = token.data if token.type == "MOMENT" else None
        if told is None or told.at is None or told.clock is None or told.clock.sure:
            continue
        late = told.at.hour >= _BY_NIGHT[0] or told.at.hour < _BY_NIGHT[1]
        stamp = told.at.isoformat(timespec="minutes")
        if late and stamp in stamps:
            out.append(f"I take “{said[token.start : token.end]}” for the night: {stamp.replace('T', ' ')}")
    return out


def _in_all(typed: Sequence[Token], said: str, entries: Sequence[Entry]) -> list[str]:
    """Return what is told if what was taken for one more may be what there is in all: "5 g more, that's 11 g now"."""
    got = [
        (entry["kind"], str(entry.get("lot", entry.get("liquid"))), str(entry.get("into")))
        for entry in entries
        if entry["kind"] in ("add", "gather")
    ]
    told = re.search(_IN_ALL, said.casefold())
    more = any(t.type in ("AGAIN", "PLUS") or t.value == "again" for t in typed) or re.search(
        r"\bmore\b", said.casefold()
    )
    twice = len(set(got)) < len(got)
    if got and told and (twice or (more and told[0] != "now")):
        return ["I take all of it for put to what was there, and none for what there is in all"]
    return []


_IN_ALL = r"\b(?:that(?:['’]s| is| makes| made)|makes|making|so there(?:['’]s| is)|in all|in total|altogether|all told|now)\b"


#: Words that turn the order of what is told: "added 5 g of gum, warmed it first".
_TURNED = (
    r"(?:[,;]|\b(?:and|but|having)\b)[^,;.]*\b(?:first|beforehand|before that|earlier on|previously)\s*[.!]?$"
)


def _then_let(typed: Sequence[Token], said: str, entries: Sequence[Entry]) -> list[str]:
    """Return what is told of "added the gum and let it stand an hour": the hour may be over, or begin now."""
    past = False
    for token in typed:
        either = re.match(r"(?:let|put|set)\b", said[token.start : token.end].casefold())
        if token.type == "VERB" and token.tense == "order" and either and past:
            lasting = any("for" in entry and "at" not in entry for entry in entries)
            return ["I take it that it begins now"] if lasting else []
        past = past or (token.type == "VERB" and token.tense == "past")
    return []


def _of_one_time(typed: Sequence[Token], said: str, entries: Sequence[Entry]) -> list[str]:
    """Return what is told if a time at the head holds for some entries and not for others: "yesterday 5 g of gum, pH 3.4"."""
    head = typed[0].data if typed and typed[0].type == "MOMENT" else None
    if (
        head is None
        or head.at is None
        or head.ahead
        or len(entries) < 2
        or re.search(r"\bnow\b|\btoday\b", said.casefold())
    ):
        return []
    dated = ["at" in entry for entry in entries]
    return (
        ["I take only the first for that time, and the others for now"] if dated[0] and not all(dated) else []
    )


def _as_it_is(typed: Sequence[Token], said: str, entries: Sequence[Entry]) -> list[str]:
    """Return what is told if a clause without a verb was taken for what is there: "pot 800 ml", "19 degrees"."""
    out: list[str] = []
    level = [e for e in entries if e["kind"] == "reading" and e["what"] == "volume"]
    plain = re.search(
        r"\b(?:is|are|was|now|left|there|still|holds?|has|have|got|stands?|level|volume|in it|full|remain\w*|of ink|hold\w*)\b|'s",
        said.casefold(),
    )
    if (
        level
        and not plain
        and any(t.type == "VESSEL" for t in typed)
        and not any(t.type in ("PREP", "WHAT", "LIQUOR") for t in typed)
    ):
        out.append("I take it for what is in it")
    held = [e for e in entries if e["kind"] == "bring"]
    if held:
        out.append("I take it for a liquor that was to hand, and not for one made here")
    warm = [e for e in entries if e["kind"] == "reading" and e["what"] == "temperature"]
    if warm and not re.search(r"\b(?:temp\w*|thermometer|is|was|now|still|at)\b|'s", said.casefold()):
        out.append("I take it for how warm it is, not for what it was warmed to")
    return out


#: Figures beyond these are a slip of the tongue, or of the pen: no ink gives them.
_LIKELY = {
    "optical_density": (-0.5, 4), "ten_drops": (0.05, 2), "drop_mass": (0.005, 0.2), "line_width": (0.02, 25), "raggedness": (0, 5), "temperature": (-15, 110),
    "viscosity": (0.3, 2000), "brix": (-1, 60), "discharge": (0.5, 7200),
}  # fmt: skip  # numbers-in-code: bounds of what is plausible, in the units of the readings (g, mm, degC, mPa s, s)


def _unlikely(entries: Sequence[Entry]) -> list[str]:
    """Return what is told of a figure that no ink gives: "density R 8", "ten drops 46 g"."""
    out = []
    for entry in entries:
        bounds = _LIKELY.get(str(entry.get("what"))) if entry["kind"] == "reading" else None
        value = entry.get("value")
        figures = list(value.values()) if isinstance(value, Mapping) else [_in_base(str(value))]
        figures += [_in_base(str(entry["water"]))] if "water" in entry else []
        if bounds and any(
            figure is not None and not bounds[0] <= float(figure) <= bounds[1] for figure in figures
        ):
            out.append(
                f"I take the {str(entry['what']).replace('_', ' ')} as it was told, though no ink gives such a figure"
            )
    return out


def _in_base(text: str) -> float | None:
    """Return a figure in grams, millimetres, degrees, mPa s or seconds, or None."""
    for dimension in ("mass", "length", "temperature", "viscosity", "time", "brix"):
        try:
            return read_quantity(text, expect=(dimension,), measures=measures()).value
        except QuantityError:
            continue
    return None


def takings(typed: Sequence[Token], said: str, entries: Sequence[Entry], now: datetime) -> tuple[str, ...]:
    """Return what was taken for something, where the words fit another thing as well: told in whole sentences.

    "There is 9 g of gum in the jar now" may tell what is there, and "t1 skips, t4 just right" how t4 flows.
    """
    out = [
        *_by_night(typed, said, entries),
        *_in_all(typed, said, entries),
        *_of_one_time(typed, said, entries),
        *_unlikely(entries),
    ]
    steps = [entry for entry in entries if entry["kind"] not in ("reading", "amend", "void", "remark")]
    if len(steps) > 1 and re.search(_TURNED, said.casefold()):
        out.append("I take the steps in the order in which they are told")
    if re.match(r"next\b", said.casefold()) or re.search(r"\bone of (?:the|my|our)\b", said.casefold()):
        out.append("I take it for done, and for what is named")
    lasting = [
        (entry["kind"], entry.get("vessel"))
        for entry in steps
        if "for" in entry and entry["kind"] in _LASTING
    ]
    said_once = sum(token.type == "VERB" for token in typed) < len(lasting)
    if said_once and len(set(lasting)) < len(lasting):
        out.append("I take the two lengths of time for two steps, one after the other")
    vessels = {str(entry["into"]) for entry in steps if "into" in entry}
    if len(vessels) > 1 and re.search(
        r"\b(?:all|both|everything)\b[^,.;]*\b(?:in|into|to)\b[^,.;]*[.!]?$", said.casefold()
    ):
        out.append("I take only the last for that vessel")
    weighed = any(
        e["kind"] == "reading" and e["what"] == "mass" and str(e["of"]).startswith("vessel:") for e in entries
    )
    if weighed and not re.search(
        r"\b(?:without|net|less|ink|liquor|liquid|contents?|in it|empty|tare\w*)\b", said.casefold()
    ):
        out.append("I take it for the weight without the vessel")
    if (
        re.search(r"\b(?:the one|one of them|the first)\b[^.;]*\bthe (?:other|second)\b", said.casefold())
        and len(vessels) > 1
    ):
        out.append("I take the vessel touched last for the one, and the other for the other")
    out += _then_let(typed, said, entries)
    if now.hour < _MIDDAY and any(e.get("for") == "overnight" and "at" not in e for e in entries):
        out.append("I take it for the night to come")
    if re.search(r"\bdrams?\b", said.casefold()):
        out.append("I take a dram for a drachm of the apothecaries (3.9 g)")
    verbs = any(token.type == "VERB" for token in typed)
    out += _as_it_is(typed, said, entries) if not verbs else []
    there = re.search(
        r"\b(?:there(?: is| are|'s)|in total|in all|altogether|all told|by now|so far|makes|now (?:about |at )?\d)",
        said.casefold(),
    )
    if not verbs and there and any(entry["kind"] == "add" for entry in entries):
        out.append("I take it that so much was added, not that so much is in it")
    was = re.search(r"\b(?:was|were|is|are)\s+(?:about |only |just |really )?\d", said.casefold())
    if not verbs and was and not there and any(entry["kind"] == "add" for entry in entries):
        out.append("I take it for one more, not for a correction")
    levels = {
        str(e["of"]).partition(":")[2] for e in entries if e["kind"] == "reading" and e["what"] == "volume"
    }
    emptied = {
        str(e.get("from", e.get("vessel")))
        for e in entries
        if e["kind"] in ("pour", "discard") and e["amount"] == "all"
    }
    if levels & emptied and re.search(r"\b(?:rest|remain\w*|remnant)\b", said.casefold()):
        out.append("I take it that all of it went, and nothing was left")
    right = any(token.type == "SCALE" and token.value == "?right" for token in typed)
    read = {entry.get("what") for entry in entries if entry["kind"] == "reading"}
    if right and "depth" in read and read & {"flow", "body"}:
        out.append("I take “right” for how deep it is")
    steps = [entry for entry in entries if entry["kind"] not in ("reading", "amend", "void", "remark")]
    orders = [token.tense for token in typed if token.type == "VERB"]
    ordered = (
        len(orders) > 1 and set(orders) == {"order"} and not any(token.type == "MOMENT" for token in typed)
    )
    if ordered and len(steps) > 1 and any("at" in entry and "for" in entry for entry in steps):
        out.append("I take it that all of this is done")
    if re.search(r"\bwhen (?:still )?wet\b|\bwhile wet\b|\bwet ones?\b", said.casefold()) and any(
        str(entry.get("of", "")).startswith("trial:") for entry in entries
    ):
        out.append("I read it as of the dry trial")
    return tuple(out)
