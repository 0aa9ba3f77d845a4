"""How each kind of entry is finished: what is left unsaid, when it began, what is asked."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from inkhorn.daybook.measures import measures
from inkhorn.daybook.schema import KINDS
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.answer import ask, asking
from inkhorn.sentences.frames import Clause, Filled
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.preparing import gathered, prepared
from inkhorn.sentences.questions import lacking
from inkhorn.sentences.remainders import rest_of
from inkhorn.sentences.settling import settle, vessel_of
from inkhorn.sentences.times import timed

Entry = dict[str, Any]


# ---------------------------------------------------------------- each kind


def finish(filled: Filled, clause: Clause) -> list[Entry]:
    """Return the entries of a filled frame; raise `Ask` where something is missing."""
    for key, value in filled.values.items():
        _known_amount(key, value, filled)
    rest_of(filled, clause)
    for key in [key for key in filled.values if key.startswith("-")]:
        filled.values.pop(key)
        filled.unread.append(filled.taken[key])
    maker = _MAKERS.get(filled.kind, _plain)
    both = any(p.thing is not None and p.thing.value == "?both" for p in clause.phrases)
    for_each = _for_each(filled, clause) if both else ()
    if both and filled.kind != "rest" and not for_each:
        names = ", ".join(clause.scene.holding())
        raise ask(
            "vessel",
            f"Say it for one after the other{': ' if names else ''}{names}.",
            mend="Say it once for each",
        )
    out = []
    made = maker(filled, clause)
    key = "into" if filled.kind == "add" else "vessel"
    for entry in [{**entry, key: name} for name in for_each for entry in made] or made:
        complete = timed(entry, clause)
        _whole(complete)
        out.append(complete)
    return out


def _for_each(filled: Filled, clause: Clause) -> tuple[str, ...]:
    """Return the two vessels that each get the same, or () where it may be one for both: "8 g of gum to each", "skimmed both"."""
    told = [
        clause.said[p.start : p.end].casefold()
        for p in clause.phrases
        if p.thing and p.thing.value == "?both"
    ]
    alike = filled.kind in ("skim", "store", "warm") or (
        filled.kind == "add" and any("each" in word for word in told)
    )
    held = clause.scene.holding()
    return tuple(sorted(held)) if alike and len(held) == 2 and not clause.has("VESSEL") else ()


def _whole(entry: Mapping[str, Any]) -> None:
    kind = KINDS[entry["kind"]]
    missing = [key.name for key in kind.keys if key.needed and key.name not in entry]
    for sets in kind.either:
        if not any(set(keys) <= set(entry) for keys in sets):
            heads = [keys for keys in sets if keys[0] in entry]
            missing += [key for key in (heads or sets)[0] if key not in entry]
    if missing:
        order = [key.name for key in kind.keys]
        raise asking(lacking(str(entry["kind"]), min(missing, key=order.index), entry))


def _known_amount(key: str, value: str, filled: Filled) -> None:
    phrase = filled.taken.get(key)
    if phrase is not None and phrase.qty is not None and phrase.qty.dimension in ("unknown", "number"):
        if filled.kind == "warm" and key == "to":
            raise ask(key, "Degrees of which scale: C or F?", mend="Give it with its unit")
        if phrase.qty.dimension == "number" and key == "value":
            return
        what = "has no unit" if phrase.qty.dimension == "number" else "is no measure that inkhorn knows"
        raise ask(
            key,
            f"{value!r} {what}: how much was it?",
            mend="Give a weight, a volume or a measure such as a spoonful",
        )


def _named(filled: Filled, clause: Clause) -> Entry:
    """Return the entry with its names and amounts as they were told."""
    out: Entry = {"kind": filled.kind}
    for key in KINDS[filled.kind].keys:
        token = filled.things.get(key.name)
        if key.name == "vessel" or (key.name in ("into", "from") and token is not None):
            out[key.name] = vessel_of(token, clause, key.name)
        elif token is not None:
            out[key.name] = settle(token, key.name)
        elif key.name in filled.values:
            out[key.name] = filled.values[key.name]
    return out


def _plain(filled: Filled, clause: Clause) -> list[Entry]:
    return [_named(filled, clause)]


def _steep(filled: Filled, clause: Clause) -> list[Entry]:
    if "marc_of" in filled.things:
        vessel = filled.things.get("into")
        name = vessel_of(vessel, clause, "into") if vessel else _marc_vessel(clause)
        filled.things.pop("into", None)
        out: Entry = {"kind": "steep", "marc_of": name, "into": name}
        filled.things.pop("marc_of")
        return [out | {k: v for k, v in _named(filled, clause).items() if k not in ("kind", "lot")}]
    out = _named(filled, clause)
    pieces = clause.single("PIECES")
    if pieces is not None:
        out["pieces"] = pieces.value
    elif clause.has("verb:crush", "verb:grind"):
        out.setdefault("pieces", "powder" if clause.has("verb:grind") else "crushed")
    if clause.has("verb:boil", "verb:simmer"):
        out.setdefault("temperature", "boiling")
    lot = filled.things.get("lot")
    if lot is not None and clause.scene.role(out["lot"]) == "sulfide":
        out["kind"] = "weather"
        out.pop("pieces", None)
    if (
        isinstance(out.get("amount"), str)
        and _is_share(out["amount"])
        and out["amount"] != "all"
        and "lot" in out
    ):
        out["amount"] = f"{out['amount']} of the {out['lot']}"
    return [out]


def _is_share(text: str) -> bool:
    try:
        return read_quantity(text, expect=("fraction",), measures=measures()).dimension == "fraction"
    except QuantityError:
        return False


def _marc_vessel(clause: Clause) -> str:
    """Return the vessel in which marc was set aside last."""
    for line in reversed(clause.scene.book):
        if line.kind == "strain":
            return str(line.raw["vessel"])
    raise ask("marc_of", "Which vessel is the marc in?", mend="Name the vessel")


def _strain(filled: Filled, clause: Clause) -> list[Entry]:
    out = _named(filled, clause)
    inside = {
        str(line.raw.get("lot"))
        for line in clause.scene.book
        if line.raw.get("into") == out["vessel"] or line.raw.get("vessel") == out["vessel"]
    }
    for phrase in clause.all("LOT"):  # what never went in is not strained off
        if phrase.thing is not None and not inside & set(phrase.thing.names):
            filled.unread.append(phrase)
    return [out]


#: Verbs that say how a vessel was put away: it was shut.
_SHUT = r"seal|cork|stopper|close|shut|cap|screw|lid|lock|tuck|hid|stash|stow|pack"


def _complement(phrase: Phrase) -> str | None:
    """Return what is left where a share was boiled off, hedged as it was told."""
    qty = phrase.qty
    if qty is None:
        return None
    if qty.dimension == "percent":
        figure = float(qty.figure) if qty.figure.replace(".", "", 1).isdigit() else 0.0
        left = f"{100 - figure:g} %" if 0 < figure < 100 else None  # numbers-in-code: per cent of the whole
    else:
        left = _LEFT.get(qty.figure or qty.text)
    return f"{qty.hedge} {left}".strip() if left else None


def _what_is_left(phrase: Phrase | None, clause: Clause, *, off: bool) -> None:
    """Ask whether a bare figure beside "evaporated" is what went or what is left."""
    if phrase is None or phrase.prep or off or not clause.verbs or clause.has("DOWN", "ARROW", "AGAIN"):
        return
    boiled = clause.has("verb:boil", "verb:simmer")
    remains = re.search(
        r"\b(left|remain\w*|till?|until|now|only)\b|\d ?(?:ml|l|cl|litres?|cups?) (?:after|afterwards|at the end|in the end)\b",
        clause.said,
        re.IGNORECASE,
    )
    if boiled and not remains:
        raise ask("to", "Did that much boil off, or was it left?", mend="Say “boiled down to …”")


_HEATED = r"\b(?:boil\w*|simmer\w*|steam\w*|fire|stove|heat\w*|hob|hearth|flame|ember\w*|evaporat\w*|dried|cook\w*|reduc\w*|bubbl\w*)\b"


def _not_spilt(clause: Clause) -> None:
    """Ask whether what a vessel lost went off as steam, where no fire is told of: "knocked the jar, lost a third of it"."""
    if {verb for verb, _ in clause.verbs} == {"lose"} and not re.search(_HEATED, clause.said, re.IGNORECASE):
        raise ask(
            "amount",
            "Was that spilt, or did it go off as steam?",
            mend="Say “spilt a third of the jar”, or “boiled down by a third”",
        )


_LEFT = {
    "half": "half", "a third": "two thirds", "a quarter": "three quarters", "a fifth": "four fifths", "a sixth": "five sixths",
    "an eighth": "seven eighths", "a eighth": "seven eighths", "a tenth": "nine tenths", "two thirds": "a third", "three quarters": "a quarter",
    "two fifths": "three fifths", "three fifths": "two fifths", "four fifths": "a fifth",
}  # fmt: skip


def _reduce(filled: Filled, clause: Clause) -> list[Entry]:
    out = _named(filled, clause)
    off = clause.has("verb:boil_off", "verb:lose") or "off" in {
        p.thing.value for p in clause.phrases if p.sort == "single" and p.thing
    }
    _not_spilt(clause)
    phrase = filled.taken.get("to")
    _what_is_left(phrase, clause, off=off)
    by = phrase is not None and phrase.prep == "by"
    if (off or by) and phrase is not None and phrase.prep not in ("to", "down_to", "until", "into"):
        left = _complement(phrase)
        if left is None:
            raise ask("to", "How much was left?", mend="Say what it was boiled down to")
        out["to"] = left
    spans = any(m.role in ("since", "until") for m in clause.moments())
    if "heat" not in out and ("for" in out or spans) and "to" not in out:
        if clause.has("verb:simmer"):
            out["heat"] = "simmer"
        else:
            raise ask(
                "heat",
                "At what heat: gentle, a simmer or a boil?",
                "gentle",
                "simmer",
                "boil",
                mend="Say the heat",
            )
    if "to" not in out and "for" not in out and not clause.moments():
        raise ask("to", "Down to how much, or for how long?", mend="Give what was left, or a time and a heat")
    return [out]


def _rest(filled: Filled, clause: Clause) -> list[Entry]:
    out = _named(filled, clause)
    cover = clause.single("COVER")
    if cover is not None:
        out["covered"] = cover.value == "covered"
    elif clause.has("verb:store"):
        out["covered"] = True
    token = filled.things.get("vessel")
    if token is not None and token.value == "?both":
        held = clause.scene.holding()
        if len(held) != 2:
            raise ask("vessel", "Which two vessels?", *held, mend="Name them")
        return [{**out, "vessel": name} for name in sorted(held)]
    return [out]


def _store(filled: Filled, clause: Clause) -> list[Entry]:
    out = _named(filled, clause)
    skip = {p.start for p in clause.phrases if p.thing and p.thing.type in ("VESSEL", "LIQUOR", "PRONOUN")}
    told = any(
        re.search(rf"\b{re.escape(word)}\b", clause.said.casefold())
        for name in clause.scene.things.vessels
        for word in name.split("-")
    )
    if (
        "vessel" not in filled.things
        and not told
        and any(p.type in ("WORD", "MANNER") and p.sort == "single" for p in clause.phrases)
    ):
        raise ask(
            "vessel",
            "Which vessel was put away?",
            *clause.scene.things.vessels,
            mend="Name the vessel",
            mild=True,
        )
    head = clause.first("VESSEL", "LIQUOR", "PRONOUN")
    verb = next((p for p in clause.phrases if p.thing and p.thing.type == "VERB"), head) or clause.phrases[0]
    after = [p for p in clause.phrases if p.start > verb.start and p.start not in skip and p.type != "MOMENT"]
    after = [p for p in after if not (p.sort == "single" and p.type in ("PARTICLE", "COMMA", "VERB"))]
    cover = clause.single("COVER")
    how = clause.said[after[0].start : after[-1].end] if after else (cover.value if cover else "")
    places = [p for p in clause.phrases if p.type == "MANNER" and p.thing and p.thing.value == "place"]
    how = how or (clause.said[places[0].start : places[0].end] if places else "")  # "into the fridge with it"
    if not how and re.match(_SHUT, clause.said[verb.start : verb.end], re.IGNORECASE):
        how = clause.said[verb.start : verb.end].casefold()
    if not how:
        raise ask("how", f"How was {out['vessel']} put away?", mend="Say where, and whether it is covered")
    out["how"] = how
    if clause.has("verb:rest", "verb:hold") and not clause.has("verb:store"):
        return [out]  # words that are not read may say how long it stood: they want a yes
    filled.unread.clear()
    filled.strange.clear()
    return [out]


def _pour(filled: Filled, clause: Clause) -> list[Entry]:
    source = filled.things.get("from")
    told = filled.taken.get("amount")
    if source is None and told is not None and told.qty is not None and told.qty.dimension == "mass":
        raise ask("lot", "What was it?", *clause.scene.things.lots, mend="Name the lot")
    into = filled.things.get("into")
    inside = any(
        p.type in ("STRAY", "PARTICLE", "PREP") and p.thing and p.thing.value == "in" for p in clause.phrases
    )
    if into is None and inside and source is not None and source.value == "?other":
        much = filled.values.get("amount", "all")  # "poured the other one in as well"
        return [{"kind": "pour", "from": clause.scene.other(), "into": clause.scene.vessel(), "amount": much}]
    if into is None:
        raise ask(
            "into", "Into which vessel?", *clause.scene.things.vessels, mend="Name the vessel it went into"
        )
    if clause.has("verb:mix") and clause.has("P:with"):
        names = [settle(p.thing, "into") for p in clause.all("VESSEL") if p.thing]
        raise ask(
            "into",
            "Into which of the two did it go?",
            *names,
            mend="Say it as poured from one into the other",
        )
    out: Entry = {"kind": "pour", "into": vessel_of(into, clause, "into")}
    out["from"] = vessel_of(source, clause, "from")
    if out["from"] == out["into"]:
        held = [name for name in clause.scene.holding() if name != out["into"]]
        if (source is not None and source.type == "VESSEL") or len(held) != 1:
            raise ask("from", "From which vessel?", *held, mend="Name the vessel it came from")
        out["from"] = held[0]
    amount = filled.values.get("amount")
    if amount is not None:
        out["amount"] = amount
    elif _steeping(out["from"], clause) and re.search(_OFF_THE_MARC, clause.said, re.IGNORECASE):
        return [{"kind": "strain", "vessel": out["from"], "into": out["into"]}]
    elif source is not None and _all_of_it(filled.taken["from"], clause):
        out["amount"] = "all"
    return [out]


#: Ways of taking a liquor off what was steeped in it.
_OFF_THE_MARC = r"\b(off|drain\w*|decant\w*|siphon\w*|syphon\w*|run|ran|through)\b"


def _steeping(vessel: str, clause: Clause) -> bool:
    """Return whether what a vessel got last was steeped in it."""
    for line in reversed(clause.scene.book):
        if line.raw.get("into") == vessel or line.raw.get("vessel") == vessel:
            return line.kind in ("steep", "weather")
    return False


def _all_of_it(phrase: Phrase, clause: Clause) -> bool:
    """Return whether the whole was poured: "poured the pot into the jar", "poured the ink into the jar"."""
    if phrase.prep or phrase.amount is not None:
        return False
    the = any(t.value == "det" and t.end + 1 == phrase.start for t in clause.dropped)
    return phrase.type in ("VESSEL", "PRONOUN") or the


def _discard(filled: Filled, clause: Clause) -> list[Entry]:
    out = _named(filled, clause)
    vessel = filled.taken.get("vessel")
    if "amount" not in out and vessel is not None and _all_of_it(vessel, clause):
        out["amount"] = "all"
    return [out]


def _add(filled: Filled, clause: Clause) -> list[Entry]:
    again = clause.single("AGAIN")
    last = clause.scene.last()
    last_add = clause.scene.last("add")
    out: Entry = {"kind": "add", "into": vessel_of(filled.things.get("into"), clause, "into")}
    for key in ("lot", "liquid"):
        token = filled.things.get(key)
        if token is not None:
            out[key] = settle(token, key)
    amount = filled.values.get("amount")
    if "up_to" in filled.values:
        if "liquid" not in out:
            raise ask(
                "liquid", "With what was it filled up?", "rainwater", "spring water", mend="Name the liquid"
            )
        return [out | {"up_to": filled.values["up_to"]}]
    if clause.has("verb:fill") and amount is not None and filled.taken["amount"].prep in ("up_to", "to"):
        return [out | {"up_to": amount}]
    same_thing = "lot" not in out and "liquid" not in out
    if same_thing and again is not None and last_add is not None and last is last_add:
        for key in ("lot", "liquid"):
            if key in last_add.raw:
                out[key] = last_add.raw[key]
        if filled.things.get("into") is None:
            out["into"] = str(last_add.raw["into"])
    elif same_thing and again is not None:
        raise ask("lot", "More of what?", mend="Name what was added")
    if amount is None and again is not None and again.value in ("same", "half", "twice"):
        amount = _times(
            last_add.raw if last_add else {}, {"same": 1, "half": 0.5, "twice": 2}[again.value], out
        )
    if same_thing and again is None:
        raise ask(
            "lot", "What was added?", *tuple(clause.scene.things.lots), mend="Name the lot or the liquid"
        )
    if amount is not None:
        share = filled.taken.get("amount")
        if (
            share is not None
            and share.qty is not None
            and share.qty.dimension == "fraction"
            and "lot" in out
            and amount != "all"
        ):
            amount = f"{amount} of the {out['lot']} jar"
        out["amount"] = amount
    return [out]


def _times(last: Mapping[str, Any], many: float, out: Mapping[str, Any]) -> str | None:
    """Return the amount of the last addition so many times."""
    same = last.get("lot") == out.get("lot") and last.get("liquid") == out.get("liquid")
    text = last.get("amount")
    if not same or not isinstance(text, str):
        return None
    if many == 1:
        return text
    amount = read_quantity(text, expect=("mass", "volume"), measures=measures())
    return f"{amount.value * many:.6g} {amount.unit}"


def _crystallise(filled: Filled, clause: Clause) -> list[Entry]:
    return [_named(filled, clause)]


def _warm(filled: Filled, clause: Clause) -> list[Entry]:
    if not clause.verbs and "for" not in filled.values and not clause.has("P:to", "P:until", "P:up_to"):
        warm = filled.values.get("to", "that")
        raise ask(
            "to", f"Was it {warm}, or was it warmed to that?", mend="Say “it is at …” or “warmed it to …”"
        )
    return [_named(filled, clause)]


_MAKERS: Mapping[str, Callable[[Filled, Clause], list[Entry]]] = {
    "warm": _warm, "discard": _discard,
    "steep": _steep, "weather": _steep, "strain": _strain, "reduce": _reduce, "rest": _rest, "store": _store, "pour": _pour,
    "add": _add, "gather": gathered, "prepare": prepared, "crystallise": _crystallise,
}  # fmt: skip
