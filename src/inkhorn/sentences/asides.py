"""Words beside a step that an entry need not hold, or that only say another way what it holds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime

import attrs

from inkhorn.sentences.clock import Clock, Moment, settle
from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.stretches import ENDS, SMALL, Rule, stretch_of, through, word_of
from inkhorn.sentences.tokens import Token

_NAMED = frozenset(
    {"VESSEL", "LOT", "MATERIAL", "LIQUID", "MARC", "CRYSTAL", "SUPPORT", "PEN", "TRIAL", "EXEMPLAR", "NEWNAME", "SCALE", "WHAT"}
)  # fmt: skip
#: Verbs of what may be left standing: "and I'll leave it a day".
_LEFT = frozenset({"rest", "hold", "steep", "weather", "store", "give", "put"})
_LEVELS = frozenset({"MASS", "VOLUME", "LENGTH", "TEMP"})


def beside(found: Sequence[Token], said: str) -> tuple[Token, ...]:
    """Return the tokens without what is told beside.

    Parameters
    ----------
    found : sequence of Token
        The tokens of a sentence.
    said : str
        The sentence.
    """
    return through(_RULES, found, said)


def _passed(found: list[Token], places: Sequence[int]) -> list[Token]:
    """Return the tokens with some of them passed over."""
    gone = set(places)
    return [attrs.evolve(as_fill(t), qty=None) if n in gone else t for n, t in enumerate(found)]


# ---------------------------------------------------------------- amounts


def _in_figures(found: list[Token], text: str) -> list[Token]:
    """Pass over a measure that nobody can turn into a figure, where the figure follows: "a dribble, 30 ml, of rainwater"."""
    del text
    for place in range(len(found) - 2):
        vague, mark, figure = found[place : place + 3]
        share = vague.type == "LOT" and mark.type == "COMMA" and place > 0 and figure.type == "MASS"
        led = [n for n in range(max(0, place - 3), place) if found[n].type == "SHARE"] if share else []
        if led and place + 3 < len(found) and found[place + 3].type == "COMMA":
            return _passed(found, [led[0], place + 1, place + 3])  # "half the galls (400 g)"
        if vague.type != "STRANGE" or mark.type != "COMMA" or figure.qty is None:
            continue
        if figure.qty.dimension in ("mass", "volume"):
            after = place + 3
            close = (
                [after]
                if after + 1 < len(found) and found[after].type == "COMMA" and found[after + 1].value == "of"
                else []
            )
            return _passed(found, [place, place + 1, *close])
    return found


def _run_on(found: list[Token], text: str) -> list[Token]:
    """Pass over what says that a time was whole: "two nights running", "three days on end"."""
    for place in range(1, len(found)):
        if found[place - 1].type == "TIME" and re.match(
            r"running|straight|solid|on end|in a row|on the trot", text[found[place].start :]
        ):
            end = next(
                (n for n in range(place, len(found)) if found[n].type in ENDS or found[n].qty), len(found)
            )
            return _passed(found, range(place, min(end, place + 3)))
    return found


def _of_doing(found: list[Token], text: str) -> list[Token]:
    """Read "two hours of simmering" as simmered for two hours."""
    del text
    for place in range(1, len(found) - 1):
        of, verb = found[place], found[place + 1]
        heat = (
            verb.type == "HEAT"
            and place + 2 < len(found)
            and found[place + 2].type == "VERB"
            and found[place + 2].tense == "doing"
        )
        if found[place - 1].type == "TIME" and of.value == "of" and heat:
            return _passed(found, [place, place + 2])  # "two hours of gentle simmering"
        doing = verb.type == "HEAT" or (verb.type == "VERB" and verb.tense == "doing")
        if found[place - 1].type == "TIME" and of.value == "of" and doing:
            out = _passed(found, [place])
            out[place + 1] = attrs.evolve(verb, tense="past") if verb.type == "VERB" else verb
            return out
    return found


def _one_heat(found: list[Token], text: str) -> list[Token]:
    """Pass over "gentle" before "simmering": a simmer is one heat."""
    del text
    places = [n for n in range(len(found) - 1) if found[n].type == found[n + 1].type == "HEAT"]
    return _passed(found, places) if places else found


def _mark(found: list[Token], text: str) -> list[Token]:
    """Pass over the mark of a level: "up to the 800 ml mark"."""
    for place in range(1, len(found)):
        line = word_of(found[place], text) in ("mark", "line", "notch")
        if (
            line
            and found[place - 1].qty is not None
            and found[place - 1].type in ("VOLUME", "LENGTH", "NUMBER")
        ):
            return _passed(found, [place])
    return found


def _from_to(found: list[Token], text: str) -> list[Token]:
    """Read "2 kg to 1.6 kg", "from two litres down to one" without "from": the first is what there was before."""
    del text
    for place in range(len(found) - 2):
        first, to, last = found[place : place + 3]
        if (
            first.type == "NUMBER"
            and first.qty is not None
            and to.type == "ARROW"
            and last.type in ("VOLUME", "MASS")
            and last.qty is not None
        ):
            unit = last.qty.unit  # "4.1 -> 1.3 l"
            qty = attrs.evolve(first.qty, text=first.qty.bare(unit), dimension=last.qty.dimension, unit=unit)
            first = attrs.evolve(first, type=last.type, value=qty.text, qty=qty)
        if first.type not in _LEVELS or last.type != first.type or to.type not in ("PREP", "ARROW"):
            continue
        if to.value not in ("to", "down_to", "arrow", "->") or first.qty is None or last.qty is None:
            continue
        led = [t for t in found[:place] if t.type not in SMALL]
        if led and led[-1].type == "PREP":
            continue
        before = attrs.evolve(first, type="PREP", value="from", qty=None, end=first.start)
        less = first.qty.unit == last.qty.unit and _size(last) < _size(first)
        arrow = attrs.evolve(
            to, type="PREP", value="down_to" if less and first.type in ("VOLUME", "LENGTH") else "to"
        )
        return [*found[:place], before, first, arrow, *found[place + 2 :]]
    return found


def _size(token: Token) -> float:
    """Return the figure of an amount, or 0 where it has none that counts."""
    figure = token.qty.figure if token.qty is not None else ""
    return float(figure) if re.fullmatch(r"\d+(?:\.\d+)?", figure) else 0.0


def _tare(found: list[Token], text: str) -> list[Token]:
    """Pass over "without the jar" of what was weighed: it is the weight of what is in it."""
    for place, token in enumerate(found):
        less = re.match(
            r"(?:without|not counting|less|minus|leaving out) (?:the |its |a )?[\w-]+", text[token.start :]
        )
        if less is None or not any(t.type == "MASS" for t in found[:place]):
            continue
        inside = [n for n in range(place, len(found)) if found[n].start < token.start + less.end()]
        if any(found[n].type == "VESSEL" for n in inside) and not any(found[n].qty for n in inside):
            return _passed(found, inside)
    return found


# ---------------------------------------------------------------- times


def _meanwhile(found: list[Token], text: str) -> list[Token]:
    """Pass over what else happened: "before the rain came on Thursday", "after the fire had gone out"."""
    for place, token in enumerate(found):
        if word_of(token, text) not in ("before", "after") or token.type in ("MOMENT", "PREP"):
            continue
        end = place + 1
        while end < len(found) and _may_happen(found[end], text):
            end += 1
        inside = found[place + 1 : end]
        noun = (
            any(t.type == "VERB" and t.tense == "order" for t in inside)
            and inside[0].type == "FILL"
            and inside[0].value == "det"
        )
        stops = end == len(found) or found[end].type in (*ENDS, "MOMENT")
        happened = re.search(
            r"\b(?:came|come|went|had|was|were|set|rose|started|began|broke|got|left)\b",
            text[token.end : inside[-1].end] if inside else "",
        )
        if stops and (happened or noun) and len(inside) > 1 and inside[0].tense != "doing":
            return _passed(found, range(place, end))
    return found


def _may_happen(token: Token, text: str) -> bool:
    """Return whether a word may be of something else that happened: no amount, and no name but the rain's."""
    rain = token.type == "LIQUID" and word_of(token, text) == "rain"
    return rain or token.type in ("FILL", "S", "SUBJECT", "WORD", "VERB", "MANNER", "PARTICLE")


def _stands_on(found: list[Token], text: str) -> list[Token]:
    """Read "covered the galls with water and will leave them three days": how long is part of what was done."""
    del text
    for place, token in enumerate(found):
        if token.type != "PLAN" or token.value != "will":
            continue
        _, end = stretch_of(found, place)
        start, _ = stretch_of(found, place)
        whole = (*found[start:place], *found[place + 1 : end])
        after = [t for t in whole if t.type not in (*SMALL, "PRONOUN", "MARC")]
        lasts = (bool(after) and any(t.type == "VERB" and t.value in _LEFT for t in after)) or [
            t.type for t in after
        ] == ["TIME"]
        times = [t for t in after if t.type == "TIME" or (t.type == "MOMENT" and t.data.role == "until")]
        verbs = [t for t in after if t.type == "VERB"]
        more = [
            t
            for t in after
            if t not in (*times, *verbs[:1]) and t.type not in ("PREP", "PARTICLE", "COVER", "MANNER")
        ]
        before = found[:start]
        soaking = any(t.type == "LIQUID" for t in before) and any(
            t.type in ("LOT", "MATERIAL", "MARC") for t in before
        )
        if lasts and len(times) == 1 and not more and soaking and not any(t.type == "TIME" for t in before):
            return [
                attrs.evolve(t, type="AHEAD", value="ahead")
                if n == place
                else as_fill(t)
                if start <= n < place and t.type == "PRONOUN"
                else t
                for n, t in enumerate(found)
            ]
    return found


def clock_behind(found: Sequence[Token], said: str, now: datetime) -> tuple[Token, ...]:
    """Read a bare figure before or behind a step as the time of day: "skimmed the pot, 9.20", "1410 vitriol 40 g"; a yes is asked."""
    out = list(found)
    if len(out) < 3 or any(t.type in ("WHAT", "INSTRUMENT", "SCALE", "MOMENT", "TRIAL") for t in out):
        return tuple(out)
    numbers = [n for n, t in enumerate(out) if t.type == "NUMBER"]
    if len(numbers) != 1 or numbers[0] not in (0, len(out) - 1):
        return tuple(out)
    (place,) = numbers
    if place and out[place - 1].type == "PREP":
        return tuple(out)  # "boiled down to 1200"
    figure = said[out[place].start : out[place].end]
    apart = out[place - 1].type == "COMMA" if place else out[1].type in ("COMMA", "COLON")
    told = re.fullmatch(r"(\d{1,2})[.:](\d\d)", figure) if apart else None
    told = told or re.fullmatch(r"(\d\d)(\d\d)", figure)
    step = any(t.type in ("VERB", "SCUM") or (t.qty is not None and n != place) for n, t in enumerate(out))
    if told is None or not step or int(told[1]) >= _HOURS or int(told[2]) >= _MINUTES:
        return tuple(out)
    hour = Clock(
        hour=int(told[1]), minute=int(told[2]), sure=int(told[1]) > _HOURS // 2 or len(figure) == len("0000")
    )
    moment = Moment(at=settle(None, hour, "", now), clock=hour)
    guess = f"{figure} as the time of day"
    out[place] = attrs.evolve(out[place], type="MOMENT", value="at", qty=None, data=moment, guess=guess)
    return tuple(out)


_HOURS, _MINUTES = 24, 60  # numbers-in-code: of a day, of an hour


# ---------------------------------------------------------------- words


def _will_call(found: list[Token], text: str) -> list[Token]:
    """Read "we'll call them sea-green" as their name."""
    del text
    places = [n for n in range(len(found) - 1) if found[n].type == "PLAN" and found[n + 1].type == "CALL"]
    return _passed(found, places) if places else found


def _in_which_order(found: list[Token], text: str) -> list[Token]:
    """Pass over ", the gum first": the order in which things are told is kept anyway."""
    for place, token in enumerate(found):
        if token.type not in ("LOT", "MATERIAL", "LIQUID"):
            continue
        start, end = stretch_of(found, place)
        others = [
            t
            for n, t in enumerate(found[start:end], start)
            if n != place and t.type not in SMALL and word_of(t, text) != "first"
        ]
        first = any(word_of(t, text) == "first" for t in found[place + 1 : end])
        named = any(set(t.names) & set(token.names) for t in found[:start])
        if first and named and not others and start and found[start - 1].type == "COMMA":
            return _passed(found, range(start - 1, end))
    return found


def _no_mould(found: list[Token], text: str) -> list[Token]:
    """Read "no mould so far" as a clear top."""
    for place, no in enumerate(found):
        scale = found[place + 1] if place + 1 < len(found) else no
        kind = scale.value.partition(":")[0]
        mould = scale.type == "SCALE" and (
            scale.value == "?mould" or (kind == "surface" and scale.value != "surface:clear")
        )
        if (
            no.type == "NOT"
            and (mould or _CLEAR.match(word_of(no, text)))
            and not any(t.type == "VERB" or t.qty for t in found)
        ):
            clear = attrs.evolve(no, type="SCALE", value="surface:clear", end=scale.end if mould else no.end)
            return [*found[:place], clear, *found[place + 2 if mould else place + 1 :]]
    return found


def _left_lying(found: list[Token], text: str) -> list[Token]:
    """Pass over "forgot" in "forgot it on the stove": it was not left undone, but left too long."""
    for place, token in enumerate(found[:-1]):
        if token.type != "NOT" or word_of(token, text) not in ("forgot", "forgot about"):
            continue
        after = [t for t in found[place + 1 : place + 5] if t.type != "FILL"]
        thing = bool(after) and after[0].type in ("PRONOUN", "VESSEL", "LIQUOR")
        if (
            thing
            and len(after) > 1
            and after[1].type == "PREP"
            and after[1].value in ("on", "over", "at", "by", "in")
        ):
            return _passed(found, [place])
    return found


def _down_a_stair(found: list[Token], text: str) -> list[Token]:
    """Read "down to the cellar", "down in the cellar" as a way, and no level."""
    del text
    for place, token in enumerate(found[:-1]):
        if token.type == "PARTICLE" and token.value in ("down", "up") and found[place + 1].type == "PREP":
            thing = next((t for t in found[place + 2 :] if t.type != "FILL"), None)
            if thing is not None and thing.type == "MANNER" and thing.value == "place":
                return _passed(found, [place])
        if token.type == "PREP" and token.value in ("down_to", "up_to"):
            after = next((t for t in found[place + 1 :] if t.type != "FILL"), None)
            if after is not None and after.type == "MANNER" and after.value == "place":
                return [attrs.evolve(t, value="to") if n == place else t for n, t in enumerate(found)]
    return found


def _dried_on(found: list[Token], text: str) -> list[Token]:
    """Pass over "dried on paper" behind an amount, and over paper that nothing is written on."""
    del text
    out = list(found)
    written = any(
        t.type in ("METHOD", "TRIAL", "PEN", "DECLARE", "SCALE", "WHAT")
        or (t.type == "VERB" and t.value in ("mark", "dip"))
        for t in found
    )
    for place in range(1, len(found)):
        verb, before = found[place], found[place - 1]
        if verb.type == "VERB" and verb.value == "dry" and verb.tense == "past" and before.type == "MASS":
            start, _ = stretch_of(found, place)
            if any(t.type == "VERB" for t in (*found[:start],)) and not any(
                t.type in ("LOT", "MATERIAL") for t in found[start:place]
            ):
                out[place] = as_fill(verb)
        led = before.type == "PREP" and before.value in ("on", "through", "in", "with")
        if found[place].type == "SKIN" and led and not written and any(t.type == "VERB" for t in found):
            out[place] = attrs.evolve(found[place], type="MANNER", value="tool", names=())
    return out


def _given_me(found: list[Token], text: str) -> list[Token]:
    """Pass over somebody else who only gave, let or stood by: "my neighbour let me have 60 g", "got it from my aunt"."""
    gone: set[int] = set()
    for place, token in enumerate(found):
        if token.type != "HEARSAY" or place in gone:
            continue
        gave = _GAVE.match(text[token.end :])
        if gave:
            end = token.end + gave.end()
            gone |= {n for n in range(place, len(found)) if found[n].start < end}
        elif word_of(token, text) in ("his", "her", "their", "your"):
            after = found[place + 1] if place + 1 < len(found) else None
            mine = any(t.type == "SUBJECT" for t in found[:place]) or bool(gone)
            own = after is None or word_of(after, text) == "own"
            led = bool(place) and found[place - 1].type == "PREP"
            gone |= {place} if mine and led and not own else set()
        elif place and found[place - 1].type == "PREP" and found[place - 1].value in _FROM_SOMEBODY:
            gone.add(place)
    return _passed(found, sorted(gone)) if gone else found


_GAVE = re.compile(
    r"(?:'s \w+)?\s*(?:has |had |have |kindly |also )*(?:let|gave|given|left|sold|brought|lent|handed|sent|allowed|helped) (?:me|us)\b"
)
_FROM_SOMEBODY = frozenset({"from", "off", "with", "for", "by", "at"})


def _brew(found: list[Token], text: str) -> list[Token]:
    """Read "250 ml brew of sumac" as a liquor."""
    for place in range(1, len(found)):
        token, before = found[place], found[place - 1]
        noun = (
            token.type == "VERB"
            and word_of(token, text) in ("brew", "infusion")
            and (before.qty is not None or before.type in ("FILL", "LOT", "MATERIAL", "PREP"))
        )
        if noun:
            return [
                attrs.evolve(t, type="LIQUOR", value="?liquor", tense="") if n == place else t
                for n, t in enumerate(found)
            ]
    return found


_CLEAR = re.compile(r"no (?:mould|mold|film|scum|skin|growth|fuzz|mildew)\b")


def _unit_again(found: list[Token], text: str) -> list[Token]:
    """Give a bare figure beside another vessel the unit of the one before: "6 g of gum to the pot and 4 to the crock"."""
    del text
    for place, token in enumerate(found):
        if token.type != "NUMBER" or token.qty is None:
            continue
        start, end = stretch_of(found, place)
        if not start or found[start - 1].type not in ("AND", "COMMA"):
            continue
        first, _ = stretch_of(found, start - 1) if start < 2 else stretch_of(found, start - 2)
        here, before = found[start:end], found[first : start - 1]
        plain = all(t is token or t.type in (*SMALL, "PREP", "VESSEL") for t in here)
        told = [t for t in before if t.qty is not None and t.qty.dimension in ("mass", "volume")]
        vessels = {t.value for t in (*here, *before) if t.type == "VESSEL"}
        goods = [t for t in before if t.type in ("LOT", "MATERIAL", "LIQUID")]
        if plain and len(told) == 1 and len(vessels) > 1 and goods and told[0].qty and told[0].qty.unit:
            unit = told[0].qty.unit
            qty = attrs.evolve(
                token.qty, text=token.qty.bare(unit), dimension=told[0].qty.dimension, unit=unit
            )
            again = attrs.evolve(token, type=told[0].type, value=qty.text, qty=qty)
            return [*found[:place], again, *found[place + 1 :]]
    return found


_RULES: tuple[Rule, ...] = (
    _in_figures, _run_on, _of_doing, _one_heat, _mark, _from_to, _tare, _meanwhile, _stands_on, _will_call, _in_which_order, _no_mould, _unit_again, _left_lying, _down_a_stair, _dried_on, _given_me, _brew,
)  # fmt: skip
