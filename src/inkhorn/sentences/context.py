"""Tokens that mean something else beside others: "850 ml left", "crushed galls", "until it is 1 litre"."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs

from inkhorn.sentences.holders import into_a_cup, jar_of_a_lot, named_vessel, numbered_vessel
from inkhorn.sentences.placing import Place, as_fill
from inkhorn.sentences.tenses import TENSES
from inkhorn.sentences.tokens import Qty, Token


def in_place(found: Sequence[Token]) -> tuple[Token, ...]:
    """Return the tokens, each as it is meant where it stands."""
    return tuple(
        _settled(Place(token, tuple(found[:n]), tuple(found[n + 1 :]))) for n, token in enumerate(found)
    )


def _settled(place: Place) -> Token:
    for rule in _RULES:
        changed = rule(place)
        if changed is not None:
            return changed
    return place.token


def _participle(p: Place) -> Token | None:
    """Read "200 g of crushed galls", "gum, powdered, to the pot": how it is, not what was done."""
    if not p.is_verb("crush", "grind", "dry", "wash", "scrape", "sieve") or p.token.tense != "past":
        return None
    last = p.last
    inside = (
        p.comes("LOT", "MATERIAL")
        and last is not None
        and (last.qty is not None or last.value in ("of", "finely", "coarsely"))
    )
    apart = (
        last is not None
        and last.type == "COMMA"
        and p.comes("COMMA")
        and any(t.type == "PREP" or t.qty for t in p.rest)
    ) or (
        last is not None
        and last.type == "COMMA"
        and p.next is None
        and any(t.type in ("LOT", "MATERIAL") for t in p.before)
        and not any(t.type == "VERB" and t.value not in ("steep", "put", "rest") for t in p.before)
        and any(t.qty for t in p.before)
    )
    if not (inside or apart):
        return None
    pieces = {"crush": "crushed", "grind": "powder"}.get(p.token.value)
    return attrs.evolve(p.token, type="PIECES", value=pieces) if pieces else as_fill(p.token)


def _corked(p: Place) -> Token | None:
    """Read "corked the jar", "covered it" at the head of a clause as putting away."""
    cover = (
        p.token.type == "COVER"
        and p.token.value == "covered"
        and p.token.end - p.token.start < len("under cloth")
    )
    head = p.last is None or p.last.type in ("SUBJECT", "AND", "THEN", "STOP")
    if cover and head and p.comes("VESSEL", "PRONOUN", "LIQUOR"):
        return attrs.evolve(p.token, type="VERB", value="store", tense="past")
    return None


def _until_it(p: Place) -> Token | None:
    """Pass over "it" in "until it is 1 litre"."""
    led = p.last is not None and p.last.type == "PREP" and p.last.value in ("until", "to", "down_to", "up_to")
    if p.token.type == "PRONOUN" and led and p.next is not None and p.next.qty is not None:
        return as_fill(p.token)
    return None


#: What a level is said to do when it has come so far.
_STANDING = frozenset({"rest", "read", "hold", "get", "made", "fill"})


def _until_it_stood(p: Place) -> Token | None:
    """Pass over "it stood at" in "until it stood at 1 litre", as over "it" in "until it is 1 litre"."""
    if not _stands_between(p.token):
        return None
    led = next((t for t in reversed(p.before) if not _stands_between(t)), None)
    until = led is not None and led.type == "PREP" and led.value in ("until", "down_to", "up_to")
    after = next((t for t in p.rest if not _stands_between(t)), None)
    level = (
        after is not None
        and after.qty is not None
        and after.qty.dimension in ("volume", "length", "fraction")
    )
    verb = (
        any(
            t.type == "VERB"
            for t in (*p.before[p.before.index(led) :], p.token, *p.rest[: p.rest.index(after)])
        )
        if until and level and led and after
        else False
    )
    return as_fill(p.token) if verb else None


def _stands_between(token: Token) -> bool:
    """Return whether a word may stand between "until" and the level that was come to."""
    small = token.type in ("FILL", "S", "PRONOUN", "LIQUOR") and token.value != "?other"
    return (
        small
        or (token.type == "VERB" and token.value in _STANDING)
        or (token.type == "PREP" and token.value in ("at", "to"))
    )


def _counted_strips(p: Place) -> Token | None:
    """Read "two" of "two strips" as how many there were: it is no pH."""
    after = p.rest[0] if p.rest else None
    plural = after is not None and after.type == "INSTRUMENT" and after.end - after.start == len("strips")
    return (
        attrs.evolve(p.token, type="WORD", value="-", qty=None)
        if p.token.type == "NUMBER" and plural
        else None
    )


def _thinned(p: Place) -> Token | None:
    """Pass over "thinned" before "1 in 8"."""
    return as_fill(p.token) if p.is_verb("add") and p.comes("DILUTION") else None


def _noun(p: Place) -> Token | None:
    """Read "the drying shed" as a thing."""
    if (
        p.is_verb("dry", "wash", "skim", "mark")
        and p.token.tense == "doing"
        and p.before
        and p.comes("WORD", "MANNER")
    ):
        return attrs.evolve(p.token, type="WORD")
    return None


#: What nothing on the bench does by itself: "they poured 100 ml" is of others.
_DONE_BY_HAND = (
    "add",
    "pour",
    "put",
    "throw",
    "strain",
    "mix",
    "mark",
    "gather",
    "crush",
    "grind",
    "discard",
    "fill",
    "boil",
    "warm",
    "skim",
)


def _they(p: Place) -> Token | None:
    """Read "they poured 100 ml into the jar" as of others; "they soaked for two days" is of the galls."""
    if p.token.type != "PRONOUN" or p.token.value != "?it" or p.token.end - p.token.start != len("they"):
        return None
    rest = [t for t in p.rest if t.type not in ("FILL", "S")]
    done = (
        len(rest) > 1
        and rest[0].type == "VERB"
        and rest[0].value in _DONE_BY_HAND
        and rest[0].tense == "past"
    )
    passive = bool(p.rest) and p.rest[0].type == "FILL"
    object_ = done and (
        rest[1].type in ("MASS", "VOLUME", "SHARE", "LOT", "MATERIAL", "LIQUID", "VESSEL", "PRONOUN")
    )
    return attrs.evolve(p.token, type="HEARSAY", value="others") if object_ and not passive else None


_DONE_BY_NOUN = ("wash", "grind", "crush", "dry", "rest", "skim", "simmer", "strain", "boil", "steep")


def _gave(p: Place) -> Token | None:
    """Pass over "gave" in "gave it a wash": the noun says what was done."""
    if not p.is_verb("give") or p.token.tense not in ("past", "order"):
        return None
    return as_fill(p.token) if any(_given_noun(t, p.rest[:n]) for n, t in enumerate(p.rest)) else None


def _given_noun(token: Token, before: Sequence[Token]) -> bool:
    led = bool(before) and before[-1].type == "FILL" and before[-1].value in ("det", "fill")
    apart = not any(t.type in ("COMMA", "STOP", "AND", "THEN", "VERB") for t in before)
    return token.type == "VERB" and token.value in _DONE_BY_NOUN and token.tense == "order" and led and apart


def _the_noun(p: Place) -> Token | None:
    """Read "the press", "a soak" as things: no order follows an article."""
    article = p.last is not None and p.last.type == "FILL" and p.last.value == "det"
    giver = next((n for n in range(len(p.before) - 1, -1, -1) if p.before[n].type == "VERB"), None)
    if giver is not None and p.before[giver].value == "give" and _given_noun(p.token, p.before[giver + 1 :]):
        return attrs.evolve(p.token, tense="past")
    if article and p.token.type == "VERB" and p.token.tense == "order":
        return attrs.evolve(p.token, type="WORD")
    return None


def _by_the_laboratory(p: Place) -> Token | None:
    """Pass over "according to" before an instrument: what it says is a reading, no hearsay."""
    return as_fill(p.token) if p.token.type == "HEARSAY" and p.comes("INSTRUMENT") else None


def _liquor_of(p: Place) -> Token | None:
    """Pass over what a liquor was made of where its vessel is told: "a pint of the gall liquor from the pot"."""
    after = next((t for t in p.rest if t.type not in ("FILL", "S")), None)
    if p.token.type not in ("LOT", "MATERIAL") or after is None or after.type != "LIQUOR":
        return None
    around = [*p.before, *p.rest]
    drawn = any(
        token.type == "PREP"
        and token.value in ("from", "off")
        and any(t.type == "VESSEL" for t in around[n + 1 : n + 4])
        for n, token in enumerate(around)
    )
    return as_fill(p.token) if drawn else None


def _side_of(p: Place) -> Token | None:
    """Pass over the sides, the top or the surface in "off the sides of the trough"."""
    if p.token.type != "WHAT" or p.token.value not in ("side", "surface", "raggedness", "deep"):
        return None
    after = [t for t in p.rest if t.type not in ("FILL", "S")][:2]
    of_it = len(after) == 2 and after[0].value == "of" and after[1].type in ("VESSEL", "LIQUOR", "PRONOUN")
    led = any(
        t.type == "PREP" and t.value in ("from", "off", "in", "into", "over", "on") for t in p.before[-2:]
    )
    return as_fill(p.token) if of_it and led else None


def _left(p: Place) -> Token | None:
    """Pass over "left" in "850 ml left"."""
    amount = p.last is not None and p.last.qty is not None
    if p.is_verb("rest") and p.token.tense == "past" and amount and not p.comes("MOMENT", "TIME"):
        return as_fill(p.token)
    return None


def _hot_water(p: Place) -> Token | None:
    """Read "boiling water" and "warm water" as how it was, not as what was done."""
    if not p.comes("LIQUID") or p.last is None:
        return None
    if p.is_verb("boil") and p.token.tense == "doing":
        warm = Qty(text="boiling", dimension="temperature", figure="boiling")
        return attrs.evolve(p.token, type="TEMP", value="boiling", qty=warm)
    if p.is_verb("warm") and p.token.tense == "order" and p.last.type != "FILL":
        return attrs.evolve(p.token, type="WORD")
    return None


def _right(p: Place) -> Token | None:
    """Pass over "right" that only begins."""
    return (
        as_fill(p.token)
        if p.token.value == "?right" and p.last is None and p.token.type == "SCALE" and p.comes("COMMA")
        else None
    )


#: Steps that may be told to go on from now ("it is to be left for two days").
_GOING_ON = frozenset({"rest", "steep", "weather", "store", "hold"})


def _to_be(p: Place) -> Token | None:
    """Read "40 g still to be added" as a plan; pass over "to be" elsewhere."""
    ahead = (
        p.token.type == "AHEAD"
        and p.token.value == "ahead"
        and p.token.end - p.token.start <= len("are to be")
    )
    if p.token.type != "TOBE" and not ahead:
        return None
    verb = p.next is not None and p.next.type == "VERB" and p.next.tense == "past"
    if verb and p.next is not None and p.next.value not in _GOING_ON:
        return attrs.evolve(p.token, type="PLAN", value="will")
    return as_fill(p.token) if p.token.type == "TOBE" else None


def _rest_left(p: Place) -> Token | None:
    """Pass over "left the rest", told beside what was done with a part, where nothing follows of it."""
    ends = p.next is None or p.next.type in ("COMMA", "STOP", "AND", "BUT", "THEN")
    first = (
        not any(t.type == "VERB" for t in p.before[:-1])
        if p.is_share()
        else not any(t.type == "VERB" for t in p.before)
    )
    if (
        p.is_share()
        and ends
        and not first
        and p.last is not None
        and p.last.type == "VERB"
        and p.last.value in ("rest", "hold")
    ):
        return as_fill(p.token)
    if (
        p.is_verb("rest", "hold")
        and p.rest
        and p.rest[0].qty is not None
        and p.rest[0].qty.unit == "rest"
        and not first
    ):
        after = next((t for t in p.rest[1:] if t.type not in ("FILL", "S")), None)
        return (
            as_fill(p.token)
            if after is None or after.type in ("COMMA", "STOP", "AND", "BUT", "THEN")
            else None
        )
    return None


def _up_to_do(p: Place) -> Token | None:
    """Pass over "to" before a verb: "hung it up to dry"."""
    verb = bool(p.rest) and p.rest[0].type == "VERB" and p.rest[0].tense == "order"
    return (
        as_fill(p.token)
        if p.token.type == "PREP" and p.token.value in ("up_to", "to") and verb and p.before
        else None
    )


def _of_the_water(p: Place) -> Token | None:
    """Read "boiled off a quarter of the water" as of the liquor."""
    before = [t for t in p.before if t.type != "FILL"]
    share = len(before) > 1 and before[-1].value == "of" and before[-2].type in ("SHARE", "PERCENT")
    boiled = any(t.type == "VERB" and t.value in ("boil", "boil_off", "lose", "simmer") for t in p.before)
    if p.token.type == "LIQUID" and p.token.value == "water" and share and boiled:
        return attrs.evolve(p.token, type="LIQUOR", value="?liquor", names=())
    return None


def _later_on(p: Place) -> Token | None:
    """Read "half an hour later" as a time gone by that no entry can hold by itself."""
    if p.token.type == "PLAN" and p.token.value == "later" and p.last is not None and p.last.type == "TIME":
        return attrs.evolve(p.token, type="WORD", value="-")
    if p.token.type == "TIME" and p.comes("PLAN") and p.next is not None and p.next.value == "later":
        return attrs.evolve(p.token, type="WORD", value="-", qty=None)
    return None


def _aside(p: Place) -> Token | None:
    """Pass over "aside" where it is not what a remark begins with: "stood it aside"."""
    return as_fill(p.token) if p.token.type == "REMARK" and p.before else None


def _gone(p: Place) -> Token | None:
    """Read "the film is gone" as what is not there; "gone thick" passes."""
    ends = p.next is None or p.next.type in ("COMMA", "STOP", "AND", "BUT", "MOMENT", "THEN")
    seen = any(t.type in ("SCALE", "SCUM", "LOT", "MATERIAL", "CRYSTAL") for t in p.before)
    if p.token.type == "FILL" and p.token.value == "gone" and ends and seen:
        return attrs.evolve(p.token, type="NOT", value="did")
    return None


def _since(p: Place) -> Token | None:
    """Read "it has stood since", with nothing behind it, as lasting until now."""
    lone = (
        p.token.type == "PREP"
        and p.token.value == "since"
        and (p.next is None or p.next.type in ("COMMA", "STOP"))
    )
    return attrs.evolve(p.token, type="FILL", value="since") if lone else None


def _bath(p: Place) -> Token | None:
    """Pass over the water in which a vessel stands: "stood the jar in hot water till it was lukewarm"."""
    around = (*p.before, *p.rest)
    steeps = any(
        t.type in ("LOT", "MATERIAL", "MARC") or (t.qty and t.qty.dimension in ("volume", "mass"))
        for t in around
    )
    held = any(t.type in ("VESSEL", "LIQUOR", "PRONOUN") for t in p.before)
    if steeps or not held:
        return None
    led = [t for t in p.before if t.type != "FILL"]
    if (
        p.token.type == "LIQUID"
        and len(led) > 1
        and led[-1].type in ("TEMP", "FILL")
        and led[-2].value == "in"
    ):
        return as_fill(p.token)
    if p.token.type == "TEMP" and p.comes("LIQUID") and led and led[-1].value == "in":
        return as_fill(p.token)
    return None


_RULES: tuple[Callable[[Place], Token | None], ...] = (
    _participle, _corked, _until_it, _thinned, _noun, _the_noun, jar_of_a_lot, _left, _hot_water, _right, _to_be,
    _gone, _aside, _later_on, _up_to_do, _of_the_water, _gave, _rest_left, _since, _bath, _by_the_laboratory, _side_of, _liquor_of, named_vessel, _they, _until_it_stood,
    _counted_strips, numbered_vessel, into_a_cup, *TENSES,
)  # fmt: skip
