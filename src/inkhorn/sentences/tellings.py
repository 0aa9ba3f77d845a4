"""How trials and tops are told of: a drop of each, a test of it, a skin that was lifted, what was weighed and how."""

from __future__ import annotations

import re
from collections.abc import Sequence

import attrs

from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.stretches import ENDS, GOODS, SMALL, Rule, next_of, stretch_of, through, word_of
from inkhorn.sentences.tokens import Qty, Token


def told_of(found: Sequence[Token], said: str) -> tuple[Token, ...]:
    """Return the tokens with what is told of trials and tops as the plain words for it.

    Parameters
    ----------
    found : sequence of Token
        The tokens of a sentence.
    said : str
        The sentence.
    """
    return through(_RULES, found, said)


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


def _both_trials(found: list[Token], text: str) -> list[Token]:
    """Pass over "both" of two trials that are named: "t3 and t4 both too pale"."""
    del text
    named = {t.value for t in found if t.type == "TRIAL"}
    vessels = {t.value for t in found if t.type == "VESSEL"}
    alone = len(vessels) == 2 and not any(t.qty is not None or t.type == "PREP" for t in found)
    if len(named) != 2 and not alone:
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


_RULES: tuple[Rule, ...] = (
    _full_of, _a_trial_of, _ten_of_water, _scum_thrown, _on_top, _written, _both_trials, _skin_of_ink, _film_off, _several_drops, _several_names, _counted_first, _so_weighed, _with_both_hands, _put_right,
)  # fmt: skip
