"""What several things have in common: "200 g of each", "both into the pot"; and a word apart that says which is meant."""

from __future__ import annotations

import re
from collections.abc import Sequence

import attrs

from inkhorn.sentences.placing import as_fill
from inkhorn.sentences.stretches import stretch_of
from inkhorn.sentences.tokens import Token

_GOODS = frozenset({"LOT", "MATERIAL"})
_SMALL = frozenset({"FILL", "S", "AND", "COMMA"})


def shared(found: Sequence[Token], said: str) -> tuple[Token, ...]:
    """Return the tokens with what is said of several things given to each.

    Parameters
    ----------
    found : sequence of Token
        The tokens of a sentence.
    said : str
        The sentence.
    """
    return tuple(
        _of_each(
            _both_in(
                _said_again(_taken_off(_no_measure(_ground(_told_apart(list(found), said), said)), said))
            ),
            said,
        )
    )


def _told_apart(found: list[Token], said: str) -> list[Token]:
    """Settle which lot is meant by a word that stands apart: "gum (plum)", "12 oz gum off the plum tree"."""
    if any(t.type == "NOT" for t in found):
        return found
    words = [said[t.start : t.end].casefold() for t in found if t.type == "WORD"]
    out = []
    for token in found:
        if token.type in _GOODS and not token.value and len(token.names) > 1:
            fits = [name for name in token.names if set(name.split("-")) & set(words)]
            if len(fits) == 1:
                out.append(attrs.evolve(token, value=fits[0], names=(fits[0],)))
                continue
        out.append(token)
    return out


def _ground(found: list[Token], said: str) -> list[Token]:
    """Read "the leaf has been ground to powder" as what was done, where nothing else was."""
    out = list(found)
    for place, token in enumerate(found):
        start, end = stretch_of(found, place)
        inside = found[start:end]
        if any(t.type == "VERB" or t.qty is not None for t in inside) or not any(
            t.type in _GOODS for t in inside[: place - start]
        ):
            continue
        done = re.match(
            r"(?:finely |coarsely )?(ground|powdered|milled|crushed|pounded)\b",
            said[token.start : token.end].casefold(),
        )
        aux = any(
            t.type == "FILL" and t.value in ("have", "had", "aux", "fill")
            for t in found[max(0, place - 2) : place]
        )
        bare = (
            start > 0
            and not any(t.qty is not None for t in found[:start])
            and found[start - 1].type in ("COMMA", "STOP", "AND")
        )
        if token.type == "PIECES" and done and (aux or bare):
            how = "crush" if done[1] in ("crushed", "pounded") else "grind"
            out[place] = attrs.evolve(token, type="VERB", value=how, tense="past")
    return out


def _no_measure(found: list[Token]) -> list[Token]:
    """Pass over "a bit of" where it measures nothing: "a bit of a skin", "a bit blunt"."""
    out = list(found)
    for place, token in enumerate(found):
        if token.type != "STRANGE" or token.qty is None or token.qty.unit != "bit":
            continue
        after = [n for n in range(place + 1, len(found)) if found[n].type not in _SMALL][:2]
        of = bool(after) and found[after[0]].value == "of"
        thing = found[after[1]] if of and len(after) > 1 else found[after[0]] if after and not of else None
        if thing is not None and thing.type in ("SCALE", "WORD", "SCUM"):
            out[place] = attrs.evolve(as_fill(token), qty=None)
            if of:
                out[after[0]] = as_fill(found[after[0]])
    return out


def _taken_off(found: list[Token], said: str) -> list[Token]:
    """Read "took it off": of a skin that is told of it is skimming, of a pot on the fire it only ends the heat."""
    out = list(found)
    for place, token in enumerate(found[1:], 1):
        leaf = token.type in (*_GOODS, "MARC") and said[token.start : token.end].casefold() == "leaves"
        if leaf and found[place - 1].type in ("PRONOUN", "REL"):
            out[place] = attrs.evolve(token, type="WORD", value="-", names=())  # "that leaves 109 g"
    for place in range(2, len(found)):
        clear = (
            found[place].type == "SCALE"
            and found[place].value == "surface:clear"
            and found[place - 1].value == "det"
        )
        if clear and any(
            t.type == "VERB" and t.value in ("pour", "add", "put", "mark", "run", "lift")
            for t in found[max(0, place - 4) : place]
        ):
            out[place] = attrs.evolve(found[place], type="LIQUOR", value="?liquor")  # "poured off the clear"
    for place in range(1, len(found) - 2):
        verb, it, off = found[place : place + 3]
        took = verb.type == "VERB" and verb.value in ("give", "lift") and verb.tense == "past"
        if not took or it.type != "PRONOUN" or off.value != "off":
            continue
        before = found[:place]
        skin = any(
            t.type == "SCALE" and t.value.startswith(("surface:film", "surface:mould", "?mould"))
            for t in before
        )
        heat = any(t.type == "VERB" and t.value in ("boil", "simmer", "warm", "boil_off") for t in before)
        if skin:
            out[place], out[place + 2] = attrs.evolve(verb, value="skim"), as_fill(off)
        elif heat:
            out[place : place + 3] = [as_fill(t) for t in (verb, it, off)]
    return out


def _said_again(found: list[Token]) -> list[Token]:
    """Pass over "this one" that only takes up what was named: "cut another reed, this one a good 2 mm"."""
    out = list(found)
    for place in range(2, len(found) - 1):
        before, token = found[place - 1], found[place]
        after = next((t for t in found[place + 1 :] if t.type not in _SMALL), None)
        short = token.type == "PRONOUN" and token.value == "?it" and before.type == "COMMA"
        if (
            short
            and after is not None
            and after.type == "LENGTH"
            and not any(t.type == "VESSEL" for t in found[:place])
        ):
            out[place] = as_fill(token)
    return out


def _both_in(found: list[Token]) -> list[Token]:
    """Pass over "both" of two amounts that go into one vessel: "20 g of gum and 30 g of vitriol, both into the pot"."""
    vessels = {t.value for t in found if t.type == "VESSEL"}
    out = []
    for place, token in enumerate(found):
        both = token.type == "PRONOUN" and token.value == "?both"
        into = next((t for t in found[place + 1 :] if t.type not in _SMALL), None)
        told = [t for t in found[:place] if t.qty is not None and t.qty.dimension in ("mass", "volume")]
        goods = any(t.type in (*_GOODS, "LIQUID") for t in found[:place])
        led = into is not None and into.type == "PREP" and into.value in ("into", "in", "to")
        held = any(t.type == "PREP" for t in found[max(0, place - 1) : place])
        out.append(
            as_fill(token)
            if both and led and goods and len(told) > 1 and len(vessels) == 1 and not held
            else token
        )
    return out


def _of_each(found: list[Token], said: str) -> list[Token]:
    """Give each of two lots its amount: "sumac and cones, 200 g of each", "5 g each of gum and vitriol"."""
    each = next(
        (
            n
            for n, t in enumerate(found)
            if t.value == "?both" and said[t.start : t.end].casefold().startswith("each")
        ),
        None,
    )
    goods = [n for n, t in enumerate(found) if t.type in _GOODS]
    if each is None or len(goods) != 2 or any(t.type not in _SMALL for t in found[goods[0] + 1 : goods[1]]):
        return found
    amounts = [n for n, t in enumerate(found) if t.qty is not None and t.qty.dimension == "mass"]
    if len(amounts) != 1 or amounts[0] > each:
        return found
    between = found[amounts[0] + 1 : each]
    if any(not (t.type == "FILL" or t.value == "of") for t in between):
        return found
    amount = found[amounts[0]]
    drop = set(range(amounts[0], each + 1))
    if each + 1 < len(found) and found[each + 1].value == "of":
        drop.add(each + 1)
    out = []
    for place, token in enumerate(found):
        if place in goods:
            out.append(attrs.evolve(amount, start=token.start, end=token.start))
        if place not in drop:
            out.append(token)
    return out
