"""What is told in stories: how long a step took, what became of a thing, what it comes to in all."""

from __future__ import annotations

import re
from collections.abc import Sequence

import attrs

from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.stretches import ENDS, GOODS, SMALL, Rule, next_of, stretch_of, through, word_of
from inkhorn.sentences.tokens import Qty, Token


def retold(found: Sequence[Token], said: str) -> tuple[Token, ...]:
    """Return the tokens of a story as those of the steps in it.

    Parameters
    ----------
    found : sequence of Token
        The tokens of a sentence.
    said : str
        The sentence.
    """
    return through(_RULES, found, said)


def _through_the_mill(found: list[Token], text: str) -> list[Token]:
    """Read "ran the galls through the mill" as ground."""
    for place, token in enumerate(found):
        if token.type not in ("LOT", "MATERIAL"):
            continue
        start, end = stretch_of(found, place)
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
        takes = word_of(found[place], text) in ("takes", "will take", "can take", "would take", "fits")
        if takes and found[place - 1].type == "VESSEL" and found[place + 1].type == "VOLUME":
            after = found[place + 2] if place + 2 < len(found) else None
            ends = (
                after is None
                or after.type in ENDS
                or after.type in ("FILL", "WORD", "PREP", "SUBJECT", "VERB", "PRONOUN")
            )
            goods = after is not None and (
                after.type in GOODS or (after.value == "of" and found[place + 3 : place + 4])
            )
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
                or word_of(found[place - 1], text) in ("there is", "is", "was", "left", "there")
            )
        ):
            return [as_fill(t) if n == place else t for n, t in enumerate(found)]
    return found


def _in_all(found: list[Token], text: str) -> list[Token]:
    """Pass over what it comes to in all, where what was added is told before: "so now 50 g in total"."""
    for place, token in enumerate(found):
        if token.qty is None or token.type not in ("NUMBER", "MASS", "VOLUME"):
            continue
        start, end = stretch_of(found, place)
        inside = text[found[start].start : found[end - 1].end]
        total = re.search(
            r"\bin total\b|\bin all\b|\baltogether\b|\ball told\b|\bso far\b|\ball in all\b", inside
        ) or re.match(r"(?:so |that )?(?:makes|is now|now) ", inside)
        told = any(t.qty is not None and t.qty.dimension == "mass" for t in found[:start])
        steps = any(t.type in ("VERB", *GOODS, "WHAT", "SCALE") for t in found[start:end])
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
        led = next((t for t in reversed(found[:place]) if t.type not in SMALL), None)
        place_of = re.match(
            r"shop|market|works|fair|stall|seller|man|woman|dealer|merchant|maker|factory|yard|house|lady|chap|fellow",
            word_of(after, text),
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
        start, end = stretch_of(found, place)
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
        if token.type != "VERB" or word_of(token, text) not in ("took", "has taken"):
            continue
        row = [n for n in range(place + 1, len(found)) if found[n].type not in (*SMALL, "PRONOUN")][:3]
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
        before = found[:place]
        moved = any(t.type == "VERB" and t.value in ("strain", "sieve") for t in before)
        told = any(t.type == "PREP" and t.value in ("into", "to") for t in before)
        _, end = stretch_of(found, place + 1) if place + 1 < len(found) else (0, 0)
        row = [t for t in found[place + 1 : end] if t.type not in ("FILL", "S")]
        if row and (
            row[0].type in ("PRONOUN", "LIQUOR") or (row[0].qty is not None and row[0].qty.text == "all")
        ):
            row = row[1:]
        stands = len(row) == 2 and row[0].value == "in" and row[1].type == "VESSEL"
        if moved and not told and stands:
            kept = {id(t) for t in row}
            into = attrs.evolve(row[0], value="into")
            return [
                into
                if t is row[0]
                else attrs.evolve(as_fill(t), qty=None)
                if place <= n < end and id(t) not in kept
                else t
                for n, t in enumerate(found)
            ]
    del text
    return found


def _the_rest_stays(found: list[Token], text: str) -> list[Token]:
    """Pass over "the rest in the pot": what was not poured stays where it was."""
    for place, token in enumerate(found):
        if token.qty is None or token.qty.unit != "rest":
            continue
        start, end = stretch_of(found, place)
        row = [t for t in found[start:end] if t.type not in SMALL]
        stays = len(row) == 3 and row[0] is token and row[1].value in ("in", "at") and row[2].type == "VESSEL"
        if (
            stays
            and any(t.qty is not None for t in found[:start])
            and not re.search(r"\binto\b", text[found[start].start : found[end - 1].end])
        ):
            return [
                attrs.evolve(as_fill(t), qty=None) if start <= n < end else t for n, t in enumerate(found)
            ]
    return found


def _on_and_off(found: list[Token], text: str) -> list[Token]:
    """Read "on at nine, off at half past eleven" as from one to the other."""
    moments = [
        n
        for n, t in enumerate(found)
        if t.type == "MOMENT" and t.data.clock is not None and t.data.role == "at"
    ]
    if len(moments) != 2:
        return found
    led = [
        re.search(rf"\b{word}\s*(?:the (?:fire|stove|heat|boil) )?$", text[: found[n].start])
        for word, n in zip(("on", "off"), moments, strict=True)
    ]
    if not all(led) or any(t.qty is not None for t in found):
        return found
    drop = {
        n
        for place in moments
        for n in range(max(0, place - 4), place)
        if word_of(found[n], text) in ("on", "off", "came off", "went on", "taken off")
    }
    first, last = moments
    out = [as_fill(t) if n in drop else t for n, t in enumerate(found)]
    out[first] = attrs.evolve(found[first], value="since", data=attrs.evolve(found[first].data, role="since"))
    out[last] = attrs.evolve(found[last], value="until", data=attrs.evolve(found[last].data, role="until"))
    comma = [n for n in range(first + 1, last) if found[n].type in ("COMMA", "AND")]
    return [as_fill(t) if n in comma else t for n, t in enumerate(out)]


def _brought_to(found: list[Token], text: str) -> list[Token]:
    """Read "added water to bring it to 900 ml" as filled up to that."""
    for place, token in enumerate(found):
        made = re.match(r"to bring|to make|to get|bringing|making|to top", word_of(token, text))
        row = [n for n in range(place + 1, len(found)) if found[n].type not in SMALL][:4]
        if not made or len(row) < 2 or not any(t.type == "LIQUID" and t.qty is None for t in found[:place]):
            continue
        row = row[1:] if found[row[0]].type in ("PRONOUN", "LIQUOR", "VESSEL") else row
        row = row[1:] if found[row[0]].type == "PARTICLE" and found[row[0]].value == "up" else row
        up = (
            len(row) > 1
            and found[row[0]].type == "PREP"
            and found[row[0]].value in ("to", "up_to")
            and found[row[1]].type in ("VOLUME", "LENGTH")
        )
        if up and not any(t.type == "VOLUME" for t in found[:place]):
            to = attrs.evolve(found[row[0]], value="up_to")
            return [
                to if n == row[0] else as_fill(t) if place <= n < row[0] and t.type != "VESSEL" else t
                for n, t in enumerate(found)
            ]
    return found


def _crystals_of(found: list[Token], text: str) -> list[Token]:
    """Pass over "crystals" behind a lot: "42 g of vitriol crystals"."""
    del text
    out = list(found)
    for place in range(1, len(found)):
        if found[place].type == "CRYSTAL" and found[place - 1].type == "LOT":
            out[place] = as_fill(found[place])
    return out


def _at_a_time(found: list[Token], text: str) -> list[Token]:
    """Pass over "a spoon at a time" where it is told how much there was in all."""
    for place in range(len(found) - 1):
        portion = found[place].qty is not None and re.match(r"\s*at a time\b", text[found[place].end :])
        if portion and any(t.qty is not None for n, t in enumerate(found) if n != place):
            end = found[place].end + len("  at a time")
            return [
                attrs.evolve(as_fill(t), qty=None) if n == place or (n > place and t.end <= end) else t
                for n, t in enumerate(found)
            ]
    return found


_LEES = re.compile(r"(?:mud|dregs|lees|sediment|grounds|settlings|sludge|bottom|deposit|silt|top|surface)$")


def _off_the_lees(found: list[Token], text: str) -> list[Token]:
    """Pass over "off the mud": it tells what stayed behind, and no vessel."""
    for place, token in enumerate(found):
        if token.type != "PREP" or token.value not in ("off", "from", "of"):
            continue
        after = next_of(found, place)
        if (
            after is not None
            and found[after].type in ("WORD", "MANNER", "SCUM", "FILL")
            and _LEES.match(word_of(found[after], text))
        ):
            return [as_fill(t) if n in (place, after) else t for n, t in enumerate(found)]
    return found


def _the_same(found: list[Token], text: str) -> list[Token]:
    """Read "the same in the pot", "pot: same" behind an addition as one more like it."""
    for place, token in enumerate(found):
        if token.type not in ("FILL", "SCALE") or word_of(token, text) not in (
            "same",
            "the same",
            "ditto",
            "likewise",
        ):
            continue
        start, end = stretch_of(found, place)
        inside = [t for t in found[start:end] if t.type not in SMALL and t is not token]
        before = [t for t in found[max(0, start - 3) : start] if t.type not in (*SMALL, "COLON")]
        vessel = [t for t in inside if t.type == "VESSEL"] or [
            t for t in before if t.type == "VESSEL" and found[start - 1].type == "COLON"
        ]
        plain = all(t.type in ("VESSEL", "PREP") for t in inside)
        added = any(t.type in ("MASS", "VOLUME") for t in found[:start]) and any(
            t.type in GOODS for t in found[:start]
        )
        if vessel and plain and added and start:
            out = [
                attrs.evolve(t, type="AGAIN", value="same", names=(), tense="") if n == place else t
                for n, t in enumerate(found)
            ]
            return [as_fill(t) if n == start - 1 and t.type == "COLON" else t for n, t in enumerate(out)]
    return found


def _when_it(found: list[Token], text: str) -> list[Token]:
    """Pass over "when I came down" and "once it had cooled" at the head: it asks nothing."""
    if (
        any(t.type == "QUERY" for t in found)
        or not found
        or word_of(found[0], text) not in ("when", "once", "as soon as")
    ):
        return found
    end = next((n for n, t in enumerate(found) if n and t.type in (*ENDS, "PURPOSE")), None)
    if end is None or any(t.qty is not None or t.type == "MOMENT" for t in found[:end]):
        return found
    happened = any(
        (t.type == "VERB" and t.tense == "past") or (t.type == "FILL" and t.value in ("had", "fill", "aux"))
        for t in found[1:end]
    )
    return [as_fill(t) if n <= end else t for n, t in enumerate(found)] if happened else found


def _half_wasted(found: list[Token], text: str) -> list[Token]:
    """Read "till the half be wasted" as boiled to half."""
    for place in range(2, len(found)):
        gone = found[place].type == "VERB" and word_of(found[place], text) in (
            "wasted",
            "consumed",
            "evaporated",
            "boiled away",
            "boiled off",
        )
        row = [t for t in found[:place] if t.type != "FILL"][-2:]
        half = (
            len(row) == 2
            and row[0].value == "until"
            and row[1].type == "SHARE"
            and row[1].qty is not None
            and row[1].qty.figure == "half"
        )
        if gone and half and any(t.type == "VERB" for t in found[:place]):
            return [as_fill(t) if n == place else t for n, t in enumerate(found)]
    return found


def _low_or_high(found: list[Token], text: str) -> list[Token]:
    """Read the "low" of "two hours on low", "2 h low" as a heat."""
    for place, token in enumerate(found):
        heat = {"low": "gentle", "lowest": "gentle", "high": "boil"}.get(word_of(token, text))
        near = [t for t in found[max(0, place - 2) : place + 3] if t.type == "TIME"]
        if (
            heat
            and token.type in ("WORD", "FILL")
            and near
            and not any(t.type in ("WHAT", "INSTRUMENT", "HEAT") for t in found)
        ):
            qty = Qty(text=heat, dimension="power", figure=heat)
            return [
                attrs.evolve(t, type="HEAT", value=heat, qty=qty) if n == place else t
                for n, t in enumerate(found)
            ]
    return found


def _its_water(found: list[Token], text: str) -> list[Token]:
    """Read "the trough's water" as what is in the trough."""
    del text
    out = list(found)
    for place in range(2, len(found)):
        if (
            found[place].type == "LIQUID"
            and found[place].value == "water"
            and found[place - 1].type == "S"
            and found[place - 2].type == "VESSEL"
            and found[place].qty is None
        ):
            out[place] = as_fill(found[place])
    return out


def _forgot_to_write(found: list[Token], text: str) -> list[Token]:
    """Pass over "I forgot yesterday to write:" before what is then written."""
    for place, token in enumerate(found):
        if token.type != "NOT" or not word_of(token, text).startswith(("forgot", "forgotten")):
            continue
        _, end = stretch_of(found, place)
        wrote = re.search(
            r"\b(?:write|note|record|enter|mention|say|tell|log|put (?:it )?down)\b",
            text[token.end : found[end - 1].end],
        )
        if (
            wrote
            and end < len(found)
            and found[end].type in ("COLON", "COMMA", "STOP")
            and not any(t.qty for t in found[place:end])
        ):
            return [as_fill(t) if place <= n < end and t.type != "MOMENT" else t for n, t in enumerate(found)]
    return found


_RULES: tuple[Rule, ...] = (
    _through_the_mill, _takes_so_much, _only_so_much, _in_all, _of_a_trade, _they_get, _took_so_long, _now_in, _the_rest_stays, _on_and_off, _brought_to, _crystals_of, _at_a_time, _off_the_lees, _the_same, _when_it, _half_wasted, _low_or_high, _its_water, _forgot_to_write,
)  # fmt: skip
