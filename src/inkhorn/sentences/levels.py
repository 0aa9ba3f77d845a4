"""What a vessel holds and how it stands: weight, level, warmth, how it runs, its top."""

from __future__ import annotations

import re

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.answer import ask
from inkhorn.sentences.noticing import Noticing, limited
from inkhorn.sentences.phrases import Phrase
from inkhorn.sentences.settling import settle

#: "Until", with nothing that parts it from what follows.
_UNTIL = re.compile(r"\b(?:un)?till?\b[^.,;]*$", re.IGNORECASE)


#: Words for a weight that holds the vessel too.
_GROSS = r"\b(?:gross|including|incl)\b|\bwith (?:the |its |all the )?(?:ink|liquor|contents?|liquid|lid) in(?:side)?\b|\bwith (?:the |its )?(?:ink|liquor|contents?|liquid|lid)\s*[.,;!]?\s*$"


def _not_weighed_out(n: Noticing, figure: Phrase) -> None:
    """Ask where it went, if so much of a lot was weighed out: "weighed 3 g of gum" tells nothing of the whole."""
    words = n.clause.said[figure.start : figure.end].casefold()
    weighed = any(verb == "read" and tense == "past" for verb, tense in n.clause.verbs)
    portion = figure.thing is not None and re.search(r"\bof\b", words) and figure.amount is not None
    if weighed and portion and figure.thing and figure.amount and figure.amount.start < figure.thing.start:
        raise ask(
            "into",
            "Weighed out: into which vessel did it go?",
            *n.clause.scene.things.vessels,
            mend="Say what it went into; or that it is all there is: “the gum weighs 110 g”",
        )


def weight_or_level(n: Noticing) -> bool:
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
        "BROUGHT",
    ):
        return False
    if any(verb not in ("read", "rest", "fill", "put", "hold", "have", "get") for verb in verbs):
        return False
    if "get" in verbs and not _has_in_it(n, verbs):
        return False
    if verbs == {"fill"} and any(
        p.thing and p.thing.value and p.thing.value not in n.clause.scene.holding() for p in n.free("VESSEL")
    ):
        return False  # "jar filled, 500 ml", of a jar that was empty
    put_in = any(
        p.type == "STRAY" or (p.type == "PREP" and p.sort == "single")
        for p in n.clause.phrases
        if p.thing and p.thing.value == "in"
    )
    if ("put" in verbs or put_in) and n.clause.has("LOT"):
        return False  # "weighed 40 g of vitriol and put it in"
    masses, volumes = list(n.amounts("MASS")), list(n.amounts("VOLUME", "LENGTH"))
    lots = list(n.free("LOT"))
    told = weighs or _stands(n) or (bool(lots) and not verbs and n.clause.has("P:down_to"))
    told = (
        told or (not verbs and _is_in(n)) or any(p.thing and p.thing.value == "full" for p in n.free("WHAT"))
    )
    ours = n.clause.ours and not verbs and (bool(lots) or n.clause.has("P:down_to") or bool(volumes))
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
    told = told or (not lots and _has_in_it(n, verbs))
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
        _not_weighed_out(n, figure)
        n.take(figure)
        for phrase in (*lots, *n.free("VESSEL")):
            n.take(phrase)
        what = "mass" if masses else "volume"
        n.add(f"lot:{settle(lots[0].thing, 'of')}" if lots[0].thing else "", what, limited(figure))
        return True
    if lots:
        return False
    if _fullness(n):
        return True
    if weighs or (len(masses) == 1 and not volumes and verbs == {"read"}):
        if n.clause.has("NUMBER"):
            raise ask("value", "What is its unit?", "g", "kg", mend="Give the weight with its unit")
        if not masses:
            raise ask("value", "What did it weigh?", mend="Give the weight")
        gross = any(p.type == "VESSEL" and p.prep == "with" for p in n.clause.phrases)
        if gross or re.search(_GROSS, said):
            raise ask(
                "value",
                "With its vessel: what does it weigh without?",
                mend="Give the weight less that of the empty vessel",
            )
        n.take(masses[0])
        n.add(n.vessel(), "mass", limited(masses[0]))
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
        n.add(n.vessel(), "volume", limited(volumes[0]))
        return True
    return False


def _has_in_it(n: Noticing, verbs: set[str]) -> bool:
    """Return whether a clause is no more than a vessel and how much: "pot 800 ml", "the pot's got 4.2 l"."""
    if verbs - {"get"} or n.clause.has(
        "PARTICLE", "STRAY", "SHARE", "AGAIN", "PLUS", "TIME", "MASS", "LIQUOR", "PRONOUN"
    ):
        return False
    told = [
        p
        for p in n.clause.phrases
        if p.type not in ("VERB", "MOMENT", "MANNER", "WORD", "AHEAD", "INSTRUMENT")
    ]
    vessels = [p for p in told if p.type == "VESSEL" and not p.prep]
    levels = [p for p in told if p.bare and p.type == "VOLUME" and not p.prep]
    if len(told) != 2 or len(vessels) != 1 or len(levels) != 1 or vessels[0].start > levels[0].start:
        return False
    thing = vessels[0].thing
    held = thing is not None and thing.value in n.clause.scene.holding()
    has = any(
        n.clause.said[t.start : t.end].casefold() in ("has", "have", "'s", "s", "now")
        for t in n.clause.dropped
    )
    return held and (has or not verbs)


def _is_in(n: Noticing) -> bool:
    """Return whether a clause without a verb is "850 ml in the pot", of a pot that holds something."""
    vessel = n.clause.first("VESSEL")
    held = vessel is not None and vessel.thing is not None and vessel.thing.value in n.clause.scene.holding()
    return (
        held
        and vessel is not None
        and vessel.prep == "in"
        and n.clause.has("VOLUME", "LENGTH")
        and not n.clause.has("LIQUOR", "SHARE")
    )


def _fullness(n: Noticing) -> bool:
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


def _stands(n: Noticing) -> bool:
    """Return whether a clause says that so much is there."""
    said = f" {n.clause.said.casefold()} "
    verbs = {verb for verb, _ in n.clause.verbs}
    there = any(
        t.type == "FILL"
        and n.clause.said[t.start : t.end].casefold()
        in ("there", "is", "now", "still", "left", "holds", "remaining", "remain", "remains", "remained")
        for t in n.clause.dropped
    )
    return there or bool(verbs & {"read", "rest", "fill"}) or " left" in said


def warmth(n: Noticing) -> bool:
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
    if not (named or is_so or verbs or "thermometer" in n.clause.said.casefold() or _as_the_room(warm[0])):
        return False
    for phrase in (warm[0], *n.free("WHAT")):
        n.take(phrase)
    n.add(n.vessel(), "temperature", limited(warm[0]))
    return True


def _as_the_room(phrase: Phrase) -> bool:
    """Return whether a liquor so warm was hardly warmed: as warm as a room may be, or less."""
    qty = phrase.qty
    if qty is None or qty.unit != "degC" or not re.fullmatch(r"\d+(?:\.\d+)?", qty.figure):
        return False
    return float(qty.figure) < _WARMED


#: Warmer than this a liquor was warmed on purpose (common practice: rooms and yards are seldom so warm).
_WARMED = 32  # numbers-in-code: degrees that tell a reading from a step


def body(n: Noticing) -> bool:
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
