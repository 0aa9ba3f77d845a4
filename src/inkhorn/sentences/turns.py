"""Turns of phrase that say a known thing another way: "four litres off the spring", "jar: half a litre from the pot"."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import attrs

from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.tokens import Qty, Token

_ENDS = frozenset({"COMMA", "STOP", "COLON", "AND", "THEN", "BUT", "QUERY", "OR"})
_SMALL = frozenset({"FILL", "S", "SUBJECT"})
_GOODS = frozenset({"LOT", "MATERIAL", "LIQUID", "CRYSTAL", "MARC"})
#: Where water comes from, and what it is then called.
_SOURCES = {
    "spring": "spring-water", "source": "spring-water", "tap": "tap-water", "barrel": "rainwater", "butt": "rainwater", "gutter": "rainwater", "rain": "rainwater",
}  # fmt: skip
_MEASURED = frozenset({"MASS", "VOLUME", "SHARE", "PERCENT"})


def turned(found: Sequence[Token], said: str) -> tuple[Token, ...]:
    """Return the tokens with every turn of phrase as the plain one.

    Parameters
    ----------
    found : sequence of Token
        The tokens of a sentence.
    said : str
        The sentence.
    """
    text = said.casefold()
    out = list(found)
    for rule in _RULES:
        out = rule(out, text)
    return tuple(out)


def _word(token: Token, text: str) -> str:
    return re.sub(r"\s+", " ", text[token.start : token.end])


def _next(found: Sequence[Token], place: int) -> int | None:
    """Return the place of the next token, small words apart."""
    return next((n for n in range(place + 1, len(found)) if found[n].type not in _SMALL), None)


def _stretch(found: Sequence[Token], place: int) -> tuple[int, int]:
    """Return where the stretch begins and ends in which a token stands."""
    start = next((n + 1 for n in range(place - 1, -1, -1) if found[n].type in _ENDS), 0)
    end = next((n for n in range(place, len(found)) if found[n].type in _ENDS), len(found))
    return start, end


# ---------------------------------------------------------------- waters


def _from_the_spring(found: list[Token], text: str) -> list[Token]:
    """Read "water from the spring", "four litres off the spring" and "1 dl spring" as spring water."""
    out = list(found)
    for place, token in enumerate(found):
        source = _SOURCES.get(_word(token, text))
        rain = token.type == "LIQUID" and _word(token, text) == "rain"
        if source is None or not (token.type == "WORD" or rain):
            continue
        start, _ = _stretch(found, place)
        led = [n for n in range(start, place) if found[n].type not in _SMALL]
        if not led:
            continue
        water = attrs.evolve(token, type="LIQUID", value=source, names=(source,))
        if found[led[-1]].type == "VOLUME" or (
            found[led[-1]].value == "of" and len(led) > 1 and found[led[-2]].type == "VOLUME"
        ):
            out[place] = water
        elif found[led[-1]].type == "PREP" and found[led[-1]].value in ("from", "off", "of") and len(led) > 1:
            thing = found[led[-2]]
            if thing.type == "LIQUID" and thing.value == "water":
                out[led[-2]] = attrs.evolve(thing, value=source, names=(source,))
                out[led[-1]], out[place] = as_fill(found[led[-1]]), as_fill(token)
            elif thing.type == "VOLUME":
                out[led[-1]] = attrs.evolve(found[led[-1]], value="of")
                out[place] = water
    return out


def _what_water(found: list[Token], text: str) -> list[Token]:
    """Pass over "water" where another word says which: "a little water, 20 ml, rain"."""
    del text
    liquids = [n for n, t in enumerate(found) if t.type == "LIQUID"]
    plain = [n for n in liquids if found[n].value == "water"]
    others = [n for n in liquids if n not in plain]
    if len(plain) != 1 or len(others) != 1 or "water" not in found[others[0]].value:
        return found
    first, last = sorted((plain[0], others[0]))
    between = [t for t in found[first + 1 : last] if t.type not in (*_SMALL, "COMMA", "PREP")]
    if any(t.type not in _MEASURED for t in between) or len(between) > 1:
        return found
    return [as_fill(t) if n == plain[0] else t for n, t in enumerate(found)]


def _warm_water(found: list[Token], text: str) -> list[Token]:
    """Read "warm water" as hand-warm; a yes is asked."""
    for place, token in enumerate(found[:-1]):
        if (
            _word(token, text) == "warm"
            and token.type in ("WORD", "VERB")
            and found[place + 1].type == "LIQUID"
            and place
        ):
            before = found[place - 1]
            if before.qty is not None or before.value in ("of", "in", "with", "det"):
                qty = Qty(text="hand warm", dimension="temperature", figure="hand warm")
                if any(t.type == "TEMP" for t in found):
                    return [as_fill(t) if n == place else t for n, t in enumerate(found)]
                warm = attrs.evolve(
                    token, type="TEMP", value="hand warm", tense="", qty=qty, guess="warm as hand-warm"
                )
                return [*found[:place], warm, *found[place + 1 :]]
    return found


def _washed_in(found: list[Token], text: str) -> list[Token]:
    """Pass over the water in which something was washed: "washed the gum in cold water"."""
    del text
    out = list(found)
    for place, token in enumerate(found):
        if token.type != "LIQUID" or token.qty is not None:
            continue
        start, end = _stretch(found, place)
        washed = any(t.type == "VERB" and t.value == "wash" for t in found[start:end])
        more = any(
            (t.type == "VERB" and t.value != "wash") or t.type in ("VESSEL", "VOLUME")
            for t in found[start:end]
        )
        led = next(
            (n for n in range(place - 1, start - 1, -1) if found[n].type not in (*_SMALL, "TEMP", "WORD")),
            None,
        )
        if washed and not more and led is not None and found[led].value in ("in", "with", "under"):
            for n in range(led, place + 1):
                out[n] = attrs.evolve(as_fill(found[n]), qty=None)
    return out


# ---------------------------------------------------------------- vessels


def _into_first(found: list[Token], text: str) -> list[Token]:
    """Read "jar: half a litre from the pot" as poured into the jar."""
    del text
    head = [t for t in found[:3] if t.type not in _SMALL]
    if len(head) < 2 or head[0].type != "VESSEL" or head[1].type != "COLON":
        return found
    place = found.index(head[0])
    _, end = _stretch(found, place + 2)
    inside = found[place + 2 : end]
    drawn = any(a.type == "PREP" and a.value in ("from", "off") for a in inside) and any(
        t.type == "VESSEL" for t in inside
    )
    amount = any(t.type in ("VOLUME", "SHARE") for t in inside)
    if not (drawn and amount) or any(t.type in (*_GOODS, "VERB") for t in inside):
        return found
    into = attrs.evolve(head[0], type="PREP", value="into", names=(), end=head[0].start, tense="")
    return [*found[:place], into, head[0], *[t for t in found[place + 1 :] if t is not head[1]]]


def _lifted_out(found: list[Token], text: str) -> list[Token]:
    """Read "took the leaf out of the tub" as strained: what is left of it is set aside."""
    for place, token in enumerate(found):
        if token.type not in ("LOT", "MARC") or token.qty is not None:
            continue
        start, end = _stretch(found, place)
        inside = found[start:end]
        if any(t.qty is not None for t in inside):
            continue
        verbs = [n for n in range(start, end) if found[n].type == "VERB"]
        out = re.search(
            r"\bout of (?:the |it\b)|\bout\b(?! of)|\boff\b", text[inside[0].start : inside[-1].end]
        )
        taken = (
            len(verbs) == 1
            and found[verbs[0]].value in ("lift", "give", "get", "run", "put")
            and found[verbs[0]].tense == "past"
        )
        vessel = any(t.type == "VESSEL" for t in inside)
        if (
            out
            and taken
            and (vessel or found[verbs[0]].value == "lift" or re.search(r"\bout of it\b", text))
            and not re.search(r"\binto\b|\bto\b", text[inside[0].start : inside[-1].end])
        ):
            return [attrs.evolve(t, value="strain") if n == verbs[0] else t for n, t in enumerate(found)]
    return found


# ---------------------------------------------------------------- amounts


def _thinned_to(found: list[Token], text: str) -> list[Token]:
    """Read "a drop thinned to a quarter" as one in four."""
    for place, token in enumerate(found):
        if token.type != "SHARE" or token.qty is None or not any(t.type == "METHOD" for t in found):
            continue
        part = _PARTS.get(token.qty.figure)
        before = [n for n in range(place) if found[n].type not in _SMALL]
        led = before[-2:]
        thin = (
            len(led) == 2
            and found[led[1]].value == "to"
            and re.match(r"thinned|diluted|let down|watered", _word(found[led[0]], text))
        )
        if part and thin:
            qty = Qty(text=f"1 in {part}", dimension="dilution")
            drop = attrs.evolve(token, type="DILUTION", value=qty.text, qty=qty)
            return [drop if n == place else as_fill(t) if n in led else t for n, t in enumerate(found)]
    return found


_PARTS = {
    "half": 2,
    "a third": 3,
    "a quarter": 4,
    "a fifth": 5,
    "a sixth": 6,
    "an eighth": 8,
    "a eighth": 8,
    "a tenth": 10,
}


def _unit_beside(found: list[Token], text: str) -> list[Token]:
    """Give a bare figure of a lot the unit of the one beside it: "35 g of vitriol and 6 of gum", "ten grams, then another ten"."""
    del text
    out = list(found)
    for place, token in enumerate(found):
        if token.type != "NUMBER" or token.qty is None or token.guess:
            continue
        after = _next(found, place)
        of = after is not None and found[after].value == "of"
        goods = after is not None and (
            found[after].type in _GOODS
            or (of and (last := _next(found, after)) is not None and found[last].type in _GOODS)
        )
        again = place > 0 and found[place - 1].type == "AGAIN"
        ends = after is None or found[after].type in _ENDS
        told = [
            t
            for t in found
            if t.type in ("MASS", "VOLUME") and t.qty is not None and t.qty.unit and t.qty.figure
        ]
        units = {t.qty.unit for t in told if t.qty}
        added = any(
            t.type == "VERB" and t.value in ("add", "put", "throw", "give", "get", "gather") for t in found
        )
        if len(units) != 1 or any(t.type in ("WHAT", "INSTRUMENT", "LIQUID") for t in found):
            continue
        start, end = _stretch(found, place)
        row = [t for t in found[start:end] if t.type not in _SMALL]
        listed = start and ends and len(row) == 2 and row[0].type in ("LOT", "MATERIAL") and row[1] is token
        if not ((of and goods) or (again and ends and added) or listed):
            continue
        unit = units.pop()
        qty = attrs.evolve(
            token.qty,
            text=token.qty.bare(unit),
            dimension=told[0].qty.dimension if told[0].qty else "mass",
            unit=unit,
        )
        out[place] = attrs.evolve(
            token, type=told[0].type, value=qty.text, qty=qty, guess=f"{token.qty.figure} as {qty.text}"
        )
    return out


def _dry_weight(found: list[Token], text: str) -> list[Token]:
    """Pass over "dry" behind a weight: "1.1 kg dry" tells how it is, not what was done."""
    out = list(found)
    for place in range(1, len(found)):
        token = found[place]
        plain = token.type == "VERB" and _word(token, text) in ("dry", "clean", "fresh", "wet")
        if plain and found[place - 1].type == "MASS":
            out[place] = as_fill(token)
    return out


def _became(found: list[Token], text: str) -> list[Token]:
    """Read "4 l became 1.2 l" as from one to the other."""
    for place in range(1, len(found) - 1):
        word = _word(found[place], text)
        if (
            word in ("became", "turned into", "went to", "becoming", "is now")
            and found[place - 1].type == found[place + 1].type == "VOLUME"
        ):
            token = found[place]
            return [
                *found[:place],
                attrs.evolve(token, type="PREP", value="to", tense=""),
                *found[place + 1 :],
            ]
    return found


def _through_the_mill(found: list[Token], text: str) -> list[Token]:
    """Read "ran the galls through the mill" as ground."""
    for place, token in enumerate(found):
        if token.type not in ("LOT", "MATERIAL"):
            continue
        start, end = _stretch(found, place)
        mill = re.search(
            r"\bthrough (?:the |a |my |our )?(?:\w+ )?(mill|grinder|quern|mincer|blender|mortar)\b",
            text[token.end : found[end - 1].end],
        )
        verbs = [n for n in range(start, place + 1) if found[n].type == "VERB"]
        if (
            mill
            and len(verbs) == 1
            and found[verbs[0]].value in ("run", "put", "give", "get", "pour", "throw")
            and not any(t.qty for t in found[start:end])
        ):
            return [
                attrs.evolve(t, value="grind", tense="past") if n == verbs[0] else t
                for n, t in enumerate(found)
            ]
    return found


def _takes_so_much(found: list[Token], text: str) -> list[Token]:
    """Read "the saucepan takes five quarts" as what it holds to the brim."""
    for place in range(1, len(found) - 1):
        takes = _word(found[place], text) in ("takes", "will take", "can take", "would take", "fits")
        if takes and found[place - 1].type == "VESSEL" and found[place + 1].type == "VOLUME":
            after = found[place + 2] if place + 2 < len(found) else None
            ends = after is None or after.type in _ENDS or after.type in ("FILL", "WORD", "PREP")
            goods = any(t.type in _GOODS for t in found[place + 2 : _stretch(found, place)[1]])
            if ends and not goods:
                holds = attrs.evolve(found[place], type="CAPACITY", value="holds", tense="")
                return [holds if n == place else t for n, t in enumerate(found)]
    return found


def _only_so_much(found: list[Token], text: str) -> list[Token]:
    """Pass over the "but" of "till but a third remained"."""
    for place in range(1, len(found) - 1):
        if (
            found[place].type == "BUT"
            and found[place + 1].qty is not None
            and (
                found[place - 1].type == "PREP"
                or _word(found[place - 1], text) in ("there is", "is", "was", "left", "there")
            )
        ):
            return [as_fill(t) if n == place else t for n, t in enumerate(found)]
    return found


def _full_of(found: list[Token], text: str) -> list[Token]:
    """Pass over "full of grit": it tells nothing of how much there is."""
    out = list(found)
    for place in range(len(found) - 2):
        after = _next(found, place + 1)
        of = found[place].type == "WHAT" and found[place].value == "full" and found[place + 1].value == "of"
        if of and after is not None and found[after].type in ("WORD", "MANNER", "SCUM", "PIECES"):
            for n in range(place, after + 1):
                out[n] = attrs.evolve(as_fill(found[n]), qty=None)
    del text
    return out


def _a_trial_of(found: list[Token], text: str) -> list[Token]:
    """Pass over "test" and "trial" behind how it was made: "drop test, diluted 1:10", "a pen trial"; "in eight of water"."""
    out = list(found)
    for place in range(1, len(found)):
        token, before = found[place], found[place - 1]
        word = _word(token, text)
        if (
            before.type == "METHOD"
            and word in ("test", "trial", "tests")
            and token.type in ("VERB", "WORD", "CALL", "DECLARE")
        ):
            out[place] = as_fill(token)
        if before.type == "PEN" and word == "trial" and token.type in ("CALL", "DECLARE"):
            out[place - 1] = attrs.evolve(before, type="METHOD", value="pen", names=())
            out[place] = as_fill(token)
        if (
            token.type == "LIQUID"
            and token.qty is None
            and before.value in ("of", "in", "with")
            and place > 1
            and found[place - 2].type == "DILUTION"
        ):
            out[place - 1], out[place] = as_fill(before), as_fill(token)
        if (
            token.type == "MOMENT"
            and re.fullmatch(r"1:\d{1,2}", word)
            and re.match(r"thinned|diluted|let down|dilution", _word(before, text))
        ):
            qty = Qty(text=f"1 in {int(word[2:])}", dimension="dilution")
            out[place] = attrs.evolve(
                token, type="DILUTION", value=qty.text, qty=qty, data=None, guess=f"{word} as {qty.text}"
            )
            out[place - 1] = as_fill(before)
    return out


def _ten_of_water(found: list[Token], text: str) -> list[Token]:
    """Pass over the count of "ten of water", told beside ten drops of ink."""
    drops = any(t.qty is not None and t.qty.unit.startswith("drop") for t in found)
    for place in range(len(found) - 2):
        number, of, water = found[place : place + 3]
        if drops and number.type == "NUMBER" and of.value == "of" and water.type == "LIQUID":
            return [attrs.evolve(as_fill(t), qty=None) if n == place else t for n, t in enumerate(found)]
    del text
    return found


def _in_all(found: list[Token], text: str) -> list[Token]:
    """Pass over what it comes to in all, where what was added is told before: "so now 50 g in total"."""
    for place, token in enumerate(found):
        if token.qty is None or token.type not in ("NUMBER", "MASS", "VOLUME"):
            continue
        start, end = _stretch(found, place)
        inside = text[found[start].start : found[end - 1].end]
        total = re.search(
            r"\bin total\b|\bin all\b|\baltogether\b|\ball told\b|\bso far\b|\ball in all\b", inside
        ) or re.match(r"(?:so |that )?(?:makes|is now|now) ", inside)
        told = any(t.qty is not None and t.qty.dimension == "mass" for t in found[:start])
        steps = any(t.type in ("VERB", *_GOODS, "WHAT", "SCALE") for t in found[start:end])
        if total and told and start and not steps:
            return [
                attrs.evolve(as_fill(t), qty=None) if start <= n < end else t for n, t in enumerate(found)
            ]
    return found


def _of_a_trade(found: list[Token], text: str) -> list[Token]:
    """Read the first word of "from the colour shop", "at the vinegar works" as part of a place, and nothing by itself."""
    out = list(found)
    for place in range(1, len(found) - 1):
        token, after = found[place], found[place + 1]
        led = next((t for t in reversed(found[:place]) if t.type not in _SMALL), None)
        place_of = re.match(
            r"shop|market|works|fair|stall|seller|man|woman|dealer|merchant|maker|factory|yard|house|lady|chap|fellow",
            _word(after, text),
        )
        if (
            token.type in ("WHAT", "SCALE", "CUT", "METHOD", "MATERIAL", "LOT", "LIQUID", "SKIN")
            and token.qty is None
            and after.type in ("WORD", "MANNER")
            and place_of
        ) and (
            led is not None
            and led.type == "PREP"
            and led.value in ("from", "at", "by", "in", "off", "on", "to")
        ):
            out[place] = attrs.evolve(token, type="WORD", names=())
    return out


# ---------------------------------------------------------------- times and things told beside


def _they_get(found: list[Token], text: str) -> list[Token]:
    """Read "they get three days", "it has till Sunday" as what is still to run."""
    del text
    for place, token in enumerate(found[:-2]):
        if token.type != "PRONOUN" or token.value != "?it":
            continue
        start, end = _stretch(found, place)
        rest = [t for t in found[place + 1 : end] if t.type not in ("S", "SUBJECT")]
        has = bool(rest) and (
            (
                rest[0].type == "VERB"
                and rest[0].value in ("get", "give", "hold", "rest")
                and rest[0].tense == "order"
            )
            or (rest[0].type == "FILL" and rest[0].value == "have")
        )
        times = [t for t in rest if t.type == "TIME"]
        more = [t for t in rest[1:] if t.type not in ("FILL", "TIME", "COVER", "PREP", "MANNER")]
        soaked = any(t.type == "LIQUID" for t in found[:place])
        if has and len(times) == 1 and not more and soaked and start <= place:
            verb = found.index(rest[0])
            ahead = attrs.evolve(rest[0], type="AHEAD", value="ahead", tense="")
            return [as_fill(t) if n == place else ahead if n == verb else t for n, t in enumerate(found)]
    return found


#: Steps whose length no entry holds.
_AT_ONCE = frozenset(
    {
        "strain",
        "pour",
        "crush",
        "grind",
        "sieve",
        "skim",
        "gather",
        "scrape",
        "fill",
        "add",
        "wash",
        "discard",
    }
)


def _took_so_long(found: list[Token], text: str) -> list[Token]:
    """Pass over how long a step took of which no entry holds it: "it took me half an hour to strain it"."""
    for place, token in enumerate(found):
        if token.type != "VERB" or _word(token, text) not in ("took", "has taken"):
            continue
        row = [n for n in range(place + 1, len(found)) if found[n].type not in (*_SMALL, "PRONOUN")][:3]
        if len(row) < 2 or found[row[0]].type != "TIME":
            continue
        last = row[1] if found[row[1]].type == "VERB" else row[2] if len(row) > 2 else row[1]
        verb = found[last]
        if verb.type == "VERB" and verb.value in _AT_ONCE and verb.tense in ("order", "doing"):
            out = [
                attrs.evolve(as_fill(t), qty=None) if n in (place, *row[:-1]) and n < last else t
                for n, t in enumerate(found)
            ]
            out[last] = attrs.evolve(verb, tense="past")
            return out
    return found


def _now_in(found: list[Token], text: str) -> list[Token]:
    """Read "strained it, it's all in the pot now" as strained into the pot."""
    for place, token in enumerate(found):
        if token.type not in ("COMMA", "STOP") or not place:
            continue
        start, _ = _stretch(found, place - 1)
        before = found[start:place]
        moved = any(t.type == "VERB" and t.value in ("strain", "sieve") for t in before)
        told = any(t.type == "PREP" and t.value in ("into", "to") for t in before)
        _, end = _stretch(found, place + 1) if place + 1 < len(found) else (0, 0)
        row = [t for t in found[place + 1 : end] if t.type not in ("FILL", "S")]
        stands = (
            len(row) == 3
            and row[0].type in ("PRONOUN", "LIQUOR")
            and row[1].value == "in"
            and row[2].type == "VESSEL"
        )
        if moved and not told and stands:
            into = attrs.evolve(row[1], value="into")
            return [
                into if t is row[1] else as_fill(t) if n == place or t is row[0] else t
                for n, t in enumerate(found)
            ]
    del text
    return found


def _scum_thrown(found: list[Token], text: str) -> list[Token]:
    """Pass over what became of the skin: "skin lifted off, thrown away"."""
    del text
    skimmed = next((n for n, t in enumerate(found) if t.type == "VERB" and t.value == "skim"), None)
    skimmed = (
        skimmed
        if skimmed is not None
        else next(
            (
                n
                for n, t in enumerate(found)
                if t.type in ("SCUM", "SCALE")
                and t.value.startswith(("scum", "surface:film", "surface:mould"))
            ),
            None,
        )
    )
    lifted = any(t.type == "VERB" and t.value in ("skim", "lift", "give") for t in found)
    for place, token in enumerate(found):
        if (
            skimmed is None
            or not lifted
            or place < skimmed
            or token.type != "VERB"
            or token.value != "discard"
        ):
            continue
        start, end = _stretch(found, place)
        if start > skimmed and all(
            t.type in (*_SMALL, "PRONOUN", "MANNER", "PARTICLE", "PREP") or t is token
            for t in found[start:end]
        ):
            return [as_fill(t) if start <= n < end else t for n, t in enumerate(found)]
    return found


def _on_top(found: list[Token], text: str) -> list[Token]:
    """Pass over "on top" of what was put there: "700 g of leaf on top"."""
    out = list(found)
    for place, token in enumerate(found):
        start, end = _stretch(found, place)
        put = any(t.type in ("MASS", "VOLUME") for t in found[start:place]) and not any(
            t.type == "SCALE" for t in found[start:end]
        )
        if token.type == "WHAT" and _word(token, text) == "on top" and put:
            out[place] = as_fill(token)
    return out


def _written(found: list[Token], text: str) -> list[Token]:
    """Pass over the words that were written, which stand in quotation marks."""
    marks = [m.start() for m in re.finditer(r'["“”]', text)]
    if len(marks) != 2 or not any(
        t.type == "METHOD" or (t.type == "VERB" and t.value == "mark") for t in found
    ):
        return found
    return [as_fill(t) if marks[0] < t.start < marks[1] else t for t in found]


_RULES: tuple[Callable[[list[Token], str], list[Token]], ...] = (
    _from_the_spring, _what_water, _warm_water, _washed_in, _into_first, _lifted_out, _thinned_to, _unit_beside, _dry_weight, _became, _through_the_mill, _takes_so_much, _only_so_much, _full_of, _a_trial_of, _ten_of_water, _in_all, _of_a_trade, _they_get, _took_so_long, _now_in, _scum_thrown, _on_top, _written,
)  # fmt: skip
