"""What is told in stories: how long a step took, what became of a thing, what it comes to in all, how a trial was made."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import attrs

from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.stretches import ENDS, GOODS, SMALL, next_of, stretch_of, word_of
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
    text = said.casefold()
    out = list(found)
    for rule in _RULES:
        out = rule(out, text)
    return tuple(out)


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


def _full_of(found: list[Token], text: str) -> list[Token]:
    """Pass over "full of grit": it tells nothing of how much there is."""
    out = list(found)
    for place in range(len(found) - 2):
        after = next_of(found, place + 1)
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
        word = word_of(token, text)
        if (
            before.type == "METHOD"
            and word in ("test", "trial", "tests")
            and token.type in ("VERB", "WORD", "CALL", "DECLARE")
        ):
            out[place] = as_fill(token)
        mine = word_of(before, text) == "pen" and not any(t.type == "METHOD" for t in found)
        if before.type == "PEN" and mine and word == "trial" and token.type in ("CALL", "DECLARE"):
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
            and re.match(r"thinned|diluted|let down|dilution", word_of(before, text))
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
        start, end = stretch_of(found, place)
        if start > skimmed and all(
            t.type in (*SMALL, "PRONOUN", "MANNER", "PARTICLE", "PREP") or t is token
            for t in found[start:end]
        ):
            return [as_fill(t) if start <= n < end else t for n, t in enumerate(found)]
    return found


def _on_top(found: list[Token], text: str) -> list[Token]:
    """Pass over "on top" of what was put there: "700 g of leaf on top"."""
    out = list(found)
    for place, token in enumerate(found):
        start, end = stretch_of(found, place)
        put = any(t.type in ("MASS", "VOLUME") for t in found[start:place]) and not any(
            t.type == "SCALE" for t in found[start:end]
        )
        if token.type == "WHAT" and word_of(token, text) == "on top" and put:
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


def _both_trials(found: list[Token], text: str) -> list[Token]:
    """Pass over "both" of two trials that are named: "t3 and t4 both too pale"."""
    del text
    named = {t.value for t in found if t.type == "TRIAL"}
    if len(named) != 2:
        return found
    return [as_fill(t) if t.type == "PRONOUN" and t.value == "?both" else t for t in found]


def _skin_of_ink(found: list[Token], text: str) -> list[Token]:
    """Read "skin removed", "the pot: skin" as what is on the ink, and no parchment."""
    out = list(found)
    for place, token in enumerate(found):
        if token.type not in ("SUPPORT", "SKIN") or word_of(token, text) not in (
            "skin",
            "a skin",
            "the skin",
        ):
            continue
        start, end = stretch_of(found, place)
        inside = found[start:end]
        if any(
            t.type in ("METHOD", "PEN", "CUT", "TRIAL", "DECLARE", "CALL", "WHAT", "SCALE", "LIQUOR")
            for t in inside
        ):
            continue
        lifted = any(
            t.type == "VERB" and t.value in ("lift", "skim", "discard", "throw", "scrape") for t in inside
        )
        before = found[start - 2 : start]
        of_it = (
            len(before) == 2
            and before[0].type == "VESSEL"
            and before[1].type == "COLON"
            and len([t for t in inside if t.type not in SMALL]) == 1
        )
        if lifted and not any(t.qty for t in inside):
            out[place] = attrs.evolve(token, type="SCUM", value="scum", names=())
            out = [
                attrs.evolve(t, value="skim")
                if start <= n < end and t.type == "VERB" and t.value in ("lift", "discard", "throw")
                else t
                for n, t in enumerate(out)
            ]
        elif of_it:
            out[place] = attrs.evolve(token, type="SCALE", value="surface:film", names=())
            out[start - 1] = as_fill(found[start - 1])
    return out


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


def _film_off(found: list[Token], text: str) -> list[Token]:
    """Read "took a film off", "scraped some mould away" as skimmed."""
    for place, token in enumerate(found):
        film = token.type == "SCALE" and token.value.startswith(("surface:film", "surface:mould", "?mould"))
        start, end = stretch_of(found, place)
        verbs = [n for n in range(start, end) if found[n].type == "VERB"]
        away = re.search(r"\b(?:off|away|out|remov\w+)\b", text[found[start].start : found[end - 1].end])
        if (
            film
            and away
            and len(verbs) == 1
            and found[verbs[0]].value in ("lift", "give", "get", "scrape", "throw", "pour")
            and verbs[0] < place
        ):
            out = [attrs.evolve(t, value="skim") if n == verbs[0] else t for n, t in enumerate(found)]
            out[place] = attrs.evolve(token, type="SCUM", value="scum")
            return out
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


_LEES = re.compile(r"(?:mud|dregs|lees|sediment|grounds|settlings|sludge|bottom|deposit|silt)$")


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


def _several_drops(found: list[Token], text: str) -> list[Token]:
    """Read "two drops on the skin, neat and one in four" as a drop of each."""
    drops = [
        n
        for n, t in enumerate(found)
        if (t.type == "METHOD" and t.value == "drop")
        or (t.qty is not None and re.fullmatch(r"\d+ drops?", t.qty.text))
    ]
    thinned = [
        n
        for n, t in enumerate(found)
        if t.type == "DILUTION"
        or word_of(t, text) in ("neat", "undiluted", "unthinned", "plain", "full strength")
    ]
    if (
        len(drops) != 1
        or len(thinned) < 2
        or any(t.type in ("LOT", "MATERIAL", "LIQUID", "WHAT", "SCALE", "THEN") for t in found)
    ):
        return found
    counted = found[drops[0]].qty
    number = counted.figure if counted is not None else ""
    said = next((t.qty.figure for t in found[: drops[0]] if t.type == "NUMBER" and t.qty), number)
    if said not in ("", str(len(thinned))):
        return found
    drop = attrs.evolve(found[drops[0]], type="METHOD", value="drop", qty=None)
    first = thinned[0]
    joints = {n for n, t in enumerate(found) if n > first and t.type in ("COMMA", "AND")} | {
        first - 1 if first and found[first - 1].type in ("COMMA", "COLON") else -1
    }
    shared = [
        drop if n == drops[0] else t
        for n, t in enumerate(found)
        if n not in thinned and n not in joints and t.type not in ("NUMBER", "STOP")
    ]
    out: list[Token] = []
    for n in thinned:
        if out:
            out.append(
                attrs.evolve(found[n], type="THEN", value="then", qty=None, names=(), end=found[n].start)
            )
        out += [*shared, *([found[n]] if found[n].type == "DILUTION" else [])]
    return out


def _counted_first(found: list[Token], text: str) -> list[Token]:
    """Pass over "two steeps:", "three trials:", which only count what follows."""
    head = next((n for n, t in enumerate(found) if t.type in ENDS), None)
    if head is None or found[head].type != "COLON" or head == len(found) - 1:
        return found
    row = [n for n in range(head) if found[n].type not in SMALL]
    plural = len(row) == 2 and found[row[0]].type == "NUMBER" and word_of(found[row[1]], text).endswith("s")
    if (
        plural
        and found[row[1]].type in ("VERB", "WORD", "DECLARE", "CALL", "STRIP", "INSTRUMENT")
        and found[row[1]].qty is None
    ):
        return [attrs.evolve(as_fill(t), qty=None) if n <= head else t for n, t in enumerate(found)]
    return found


def _several_names(found: list[Token], text: str) -> list[Token]:
    """Read "three lines with the reed: t5, t6, t7" as one of each."""
    del text
    names = [n for n, t in enumerate(found) if t.type == "NEWNAME"]
    methods = [n for n, t in enumerate(found) if t.type == "METHOD"]
    listed = len(names) > 1 and all(
        found[n].type in ("COMMA", "AND", "NEWNAME", "FILL") for n in range(names[0], names[-1] + 1)
    )
    if (
        not listed
        or len(methods) != 1
        or any(t.qty is not None and t.type != "NUMBER" for t in found)
        or any(t.type in ("THEN", "SCALE", "WHAT", "CALL") for t in found)
    ):
        return found
    drop = {
        *range(names[0], names[-1] + 1),
        names[0] - 1 if names[0] and found[names[0] - 1].type in ("COLON", "COMMA") else -1,
    }
    shared = [t for n, t in enumerate(found) if n not in drop and t.type not in ("NUMBER", "STOP")]
    out: list[Token] = []
    for n in names:
        if out:
            out.append(attrs.evolve(found[n], type="THEN", value="then", names=(), end=found[n].start))
        out += [*shared, found[n]]
    return out


def _so_weighed(found: list[Token], text: str) -> list[Token]:
    """Pass over "fresh weight" behind an amount: it names no reading."""
    out = list(found)
    goods = any(t.type in ("LOT", "MATERIAL") for t in found) and any(t.type == "MASS" for t in found)
    for place, token in enumerate(found):
        if (
            goods
            and token.type == "WHAT"
            and re.fullmatch(r"(?:fresh |wet |dry |net )?(?:weight|mass)", word_of(token, text))
        ):
            before = word_of(found[place - 1], text) if place else ""
            if before in ("fresh", "wet", "dry", "net", "air dry", ",") or word_of(token, text).count(" "):
                out[place] = as_fill(token)
    return out


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


def _with_both_hands(found: list[Token], text: str) -> list[Token]:
    """Pass over "both hands", and over what something is only likened to: "brewed like tea"."""
    out = list(found)
    for place, token in enumerate(found[:-1]):
        after = found[place + 1]
        if (
            token.type == "PRONOUN"
            and token.value == "?both"
            and re.match(r"hands?\b|sides?\b", word_of(after, text))
        ):
            out[place], out[place + 1] = as_fill(token), as_fill(after)
        if (
            word_of(token, text) == "like"
            and token.type == "FILL"
            and after.type in ("MATERIAL", "LIQUID")
            and after.qty is None
        ):
            out[place + 1] = as_fill(after)
    return out


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


def _put_right(found: list[Token], text: str) -> list[Token]:
    """Pass over what was put right with an addition: "adjusted the viscosity with 15 ml of rainwater"."""
    del text
    out = list(found)
    for place, token in enumerate(found):
        start, end = stretch_of(found, place)
        inside = found[start:end]
        added = any(t.type == "VERB" and t.value == "add" for t in found[start:place])
        by = any(t.type == "PREP" and t.value in ("with", "by") for t in found[place:end]) and any(
            t.type in GOODS for t in found[place:end]
        )
        if token.type == "WHAT" and added and by and any(t.type in ("MASS", "VOLUME") for t in inside):
            out[place] = as_fill(token)
    return out


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


_RULES: tuple[Callable[[list[Token], str], list[Token]], ...] = (
    _through_the_mill, _takes_so_much, _only_so_much, _full_of, _a_trial_of, _ten_of_water, _in_all, _of_a_trade, _they_get, _took_so_long, _now_in, _scum_thrown, _on_top, _written, _the_rest_stays, _both_trials, _skin_of_ink, _on_and_off, _brought_to, _weighed_in, _film_off, _crystals_of, _at_a_time, _off_the_lees, _the_same, _several_drops, _several_names, _counted_first, _so_weighed, _when_it, _with_both_hands, _half_wasted, _low_or_high, _put_right, _its_water, _forgot_to_write,
)  # fmt: skip
