"""Turns of phrase that say a known thing another way: "four litres off the spring", "jar: half a litre from the pot"."""

from __future__ import annotations

import re
from collections.abc import Sequence

import attrs

from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.stretches import ENDS, GOODS, SMALL, Rule, next_of, stretch_of, through, word_of
from inkhorn.sentences.tokens import Qty, Token

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
    return through(_RULES, found, said)


# ---------------------------------------------------------------- waters


def _from_the_spring(found: list[Token], text: str) -> list[Token]:
    """Read "water from the spring", "four litres off the spring" and "1 dl spring" as spring water."""
    out = list(found)
    for place, token in enumerate(found):
        source = _SOURCES.get(word_of(token, text))
        rain = token.type == "LIQUID" and word_of(token, text) == "rain"
        if source is None or not (token.type == "WORD" or rain):
            continue
        butt = found[place + 1] if place + 1 < len(found) else None
        if rain and butt is not None and word_of(butt, text) in ("barrel", "butt", "tank", "cistern"):
            out[place + 1] = as_fill(butt)
        start, _ = stretch_of(found, place)
        led = [n for n in range(start, place) if found[n].type not in SMALL]
        water = attrs.evolve(token, type="LIQUID", value=source, names=(source,))
        after = next_of(found, place)
        if (
            after is not None
            and found[after].type == "VOLUME"
            and not any(t.type == "LIQUID" for t in found[start:after])
        ):
            out[place] = water  # "spring 4 l"
            continue
        _, end = stretch_of(found, place)
        plain = [n for n, t in enumerate(found) if t.type == "LIQUID" and t.value == "water"]
        if not led and len(plain) == 1 and not [t for t in found[place + 1 : end] if t.type not in SMALL]:
            out[plain[0]] = attrs.evolve(
                found[plain[0]], value=source, names=(source,)
            )  # "water 4 l, spring"
            out[place] = as_fill(token)
            continue
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
    between = [t for t in found[first + 1 : last] if t.type not in (*SMALL, "COMMA", "PREP")]
    if any(t.type not in _MEASURED for t in between) or len(between) > 1:
        return found
    return [as_fill(t) if n == plain[0] else t for n, t in enumerate(found)]


def _warm_water(found: list[Token], text: str) -> list[Token]:
    """Read "warm water" as hand-warm; a yes is asked."""
    for place, token in enumerate(found[:-1]):
        if (
            word_of(token, text) == "warm"
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
        start, end = stretch_of(found, place)
        washed = any(t.type == "VERB" and t.value == "wash" for t in found[start:end])
        more = any(
            (t.type == "VERB" and t.value != "wash") or t.type in ("VESSEL", "VOLUME")
            for t in found[start:end]
        )
        led = next(
            (n for n in range(place - 1, start - 1, -1) if found[n].type not in (*SMALL, "TEMP", "WORD")),
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
    head = [t for t in found[:3] if t.type not in SMALL]
    if len(head) < 2 or head[0].type != "VESSEL" or head[1].type != "COLON":
        return found
    place = found.index(head[0])
    _, end = stretch_of(found, place + 2)
    inside = found[place + 2 : end]
    drawn = any(a.type == "PREP" and a.value in ("from", "off") for a in inside) and any(
        t.type == "VESSEL" for t in inside
    )
    amount = any(t.type in ("VOLUME", "SHARE") for t in inside)
    if not (drawn and amount) or any(t.type in (*GOODS, "VERB") for t in inside):
        return found
    into = attrs.evolve(head[0], type="PREP", value="into", names=(), end=head[0].start, tense="")
    return [*found[:place], into, head[0], *[t for t in found[place + 1 :] if t is not head[1]]]


def _lifted_out(found: list[Token], text: str) -> list[Token]:
    """Read "took the leaf out of the tub" as strained: what is left of it is set aside."""
    for place, token in enumerate(found):
        if token.type not in ("LOT", "MARC") or token.qty is not None:
            continue
        start, end = stretch_of(found, place)
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
        before = [n for n in range(place) if found[n].type not in SMALL]
        led = before[-2:]
        thin = (
            len(led) == 2
            and found[led[1]].value == "to"
            and re.match(r"thinned|diluted|let down|watered", word_of(found[led[0]], text))
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
        after = next_of(found, place)
        of = after is not None and found[after].value == "of"
        goods = after is not None and (
            found[after].type in GOODS
            or (of and (last := next_of(found, after)) is not None and found[last].type in GOODS)
        )
        again = place > 0 and found[place - 1].type == "AGAIN"
        ends = after is None or found[after].type in ENDS
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
        start, end = stretch_of(found, place)
        row = [t for t in found[start:end] if t.type not in SMALL]
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
        plain = token.type == "VERB" and word_of(token, text) in ("dry", "clean", "fresh", "wet")
        if plain and found[place - 1].type == "MASS":
            out[place] = as_fill(token)
    return out


def _became(found: list[Token], text: str) -> list[Token]:
    """Read "4 l became 1.2 l" as from one to the other."""
    for place in range(1, len(found) - 1):
        word = word_of(found[place], text)
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


# ---------------------------------------------------------------- what it was for, and how exact


def _made_it_so(found: list[Token], text: str) -> list[Token]:
    """Pass over what an addition made of it: "40 g of vitriol made it black"."""
    for place in range(len(found) - 2):
        made, it, so = found[place : place + 3]
        told = any(t.qty is not None for t in found[:place]) and any(t.type in GOODS for t in found[:place])
        if (
            told
            and word_of(made, text) in ("made", "turned", "makes", "turns")
            and it.type in ("PRONOUN", "LIQUOR")
            and so.type in ("SCALE", "WORD")
        ):
            return [as_fill(t) if place <= n < place + 3 else t for n, t in enumerate(found)]
    return found


def _in_order_to(found: list[Token], text: str) -> list[Token]:
    """Pass over a purpose that is told first: "to correct the colour I added 5 g of vitriol"; and "for the flow" told last."""
    del text
    out = list(found)
    start = next((n for n, t in enumerate(found) if t.type != "FILL"), 0)
    subject = next((n for n, t in enumerate(found) if t.type == "SUBJECT"), None)
    if found and found[start].type == "PURPOSE" and subject is not None and subject > start + 1:
        before, after = found[start:subject], found[subject + 1 :]
        verb = next((t for t in after if t.type != "FILL"), None)
        whole = not any(t.qty is not None or t.type in ("VESSEL", *ENDS) for t in before)
        if whole and verb is not None and verb.type == "VERB" and verb.tense == "past":
            out = [as_fill(t) if start <= n < subject else t for n, t in enumerate(found)]
    for place in range(1, len(out)):
        led = next((n for n in range(place - 1, -1, -1) if out[n].type not in SMALL), None)
        goods = any(t.type in GOODS for t in out[:place]) and any(
            t.type in ("MASS", "VOLUME") for t in out[:place]
        )
        if out[place].type == "WHAT" and led is not None and out[led].value == "for" and goods:
            out[place], out[led] = as_fill(out[place]), as_fill(out[led])
    return out


#: Measures of the kitchen that a figure told beside them makes exact.
_ROUGH = frozenset({"splash", "pinch", "spoonful", "cup", "handful", "tablespoon", "teaspoon", "drop"})


def _made_exact(found: list[Token], text: str) -> list[Token]:
    """Take the figure for the measure it makes exact: "a glass of wine, 100 ml", "a splash of rainwater, 10 ml"."""
    del text
    for place in range(len(found) - 4):
        vague, of, goods, mark, exact = found[place : place + 5]
        rough = vague.type == "STRANGE" or (vague.qty is not None and vague.qty.unit in _ROUGH)
        if not (
            rough
            and of.value == "of"
            and goods.type in GOODS
            and mark.type == "COMMA"
            and exact.qty is not None
        ):
            continue
        after = next_of(found, place + 4)
        ends = after is None or found[after].type in ENDS
        if ends and exact.type in ("MASS", "VOLUME") and exact.qty.unit not in _ROUGH:
            moved = attrs.evolve(exact, start=vague.start, end=vague.end)
            return [*found[:place], moved, of, goods, *found[place + 5 :]]
    return found


def _weighed_in(found: list[Token], text: str) -> list[Token]:
    """Pass over "weighed" of what then went in: "vitriol: 42 g, weighed, in"."""
    last = next((t for t in reversed(found) if t.type not in (*SMALL, "STOP")), None)
    inside = last is not None and last.type in ("PREP", "PARTICLE") and last.value == "in"
    weighed = [
        n
        for n, t in enumerate(found)
        if t.type == "VERB" and t.value == "read" and word_of(t, text).startswith("weigh")
    ]
    told = any(t.type == "MASS" for t in found) and any(t.type in ("LOT", "MATERIAL") for t in found)
    if (
        not inside
        or len(weighed) != 1
        or not told
        or any(t.type == "VERB" and n not in weighed for n, t in enumerate(found))
    ):
        return found
    return [as_fill(t) if n in weighed else t for n, t in enumerate(found)]


_RULES: tuple[Rule, ...] = (
    _from_the_spring, _what_water, _warm_water, _washed_in, _into_first, _lifted_out, _thinned_to, _unit_beside, _dry_weight, _became, _weighed_in, _made_it_so, _in_order_to, _made_exact,
)  # fmt: skip
