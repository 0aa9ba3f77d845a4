"""Amounts among the words: units, ranges, hedges, shares."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.measuring import (
    Found,
    dimension_of,
    match,
    of_unit,
    size,
    smaller,
    unit_at,
    vocabulary_of_measures,
)
from inkhorn.sentences.numbers import ARTICLES, SHARES, SMALL, TENS, number
from inkhorn.sentences.tokens import Qty, Raw
from inkhorn.units import fold


def amount(words: Sequence[Raw], at: int) -> Found | None:
    """Return the amount that begins at a place, or None."""
    known = vocabulary_of_measures()
    phrase = match(words, at, known["phrase"], 5)
    if phrase:
        found = _phrase(*phrase)
        rest = any(
            w.text in ("rest", "remainder", "remained", "left", "remains") for w in words[at : phrase[1]]
        )
        return attrs.evolve(found, qty=attrs.evolve(found.qty, unit="rest")) if found and rest else found
    hedge, start = "", at
    hedged = match(words, at, known["hedge"], 3)
    while hedged:
        hedge, start = hedged[0] if hedged[0] != "-" else hedge, hedged[1]
        hedged = match(words, start, known["hedge"], 3)
    body = _body(words, start)
    if body is None and start > at:
        inner = match(words, start, known["phrase"], 4)
        if inner:
            return _hedged(_phrase(*inner), hedge)
        body = _body(words, at)
    return _hedged(body, hedge, words) if body else None


def _phrase(name: str, end: int) -> Found | None:
    if name == "all":
        return Found(Qty(text=name, dimension="fraction", figure=name), end)
    for dimension in ("time", "temperature", "power"):
        try:
            read_quantity(name, expect=(dimension,), measures=measures())
        except QuantityError:
            continue
        return Found(Qty(text=name, dimension=dimension, figure=name), end)
    return None


def _hedged(found: Found | None, hedge: str, words: Sequence[Raw] = ()) -> Found | None:
    if found is None:
        return None
    end, qty = found.end, found.qty
    tail = match(words, end, vocabulary_of_measures()["tail"], 5) if words else None
    if tail is None and words and end < len(words) and words[end].text == ",":
        tail = match(words, end + 1, vocabulary_of_measures()["tail"], 5)
    if tail:
        hedge, end = hedge or tail[0], tail[1]
    if not hedge:
        return attrs.evolve(found, end=end)
    if qty.dimension == "dilution":
        return found
    return Found(attrs.evolve(qty, text=f"{hedge} {qty.text}", hedge=hedge), end)


def _body(words: Sequence[Raw], at: int) -> Found | None:
    if at >= len(words):
        return None
    for read in (_dilution, _range, _share_of_unit, _measured, _share, _one_unit, _bare_unit):
        found = read(words, at)
        if found:
            return found
    plain = number(words, at)
    to_one = (
        at and words[at - 1].text == "to" and (at + 1 >= len(words) or words[at + 1].sort == "mark")
    )  # "from three litres to one"
    if plain and plain[1] and (words[at].text != "one" or plain[0] != 1 or to_one):
        return Found(Qty(text=plain[1], dimension="number", figure=plain[1]), plain[2])
    return None


def _dilution(words: Sequence[Raw], at: int) -> Found | None:
    first = number(words, at)
    if first is None:
        return None
    step = first[2]
    if step + 1 < len(words) and words[step].text == ":" and first[0] == 1 and words[at].sort == "number":
        ratio = number(words, step + 1)
        if (
            ratio
            and ratio[0] > 1
            and ratio[1].isdigit()
            and len(ratio[1]) < 3
            and len(words[step + 1].text) < 3
        ):
            text = f"1 in {ratio[0]:g}"
            return Found(Qty(text=text, dimension="dilution"), ratio[2], f"1:{ratio[1]} as {text}")
    if step < len(words) and words[step].text in ("part", "drop", "to"):
        step += 1
    if step >= len(words) or words[step].text not in ("in", "to"):
        return None
    second = number(words, step + 1)
    if (
        second is None
        or second[0] <= first[0]
        or match(words, second[2], vocabulary_of_measures()["unit"], 3)
    ):
        return None
    if words[step].text == "to":
        return None
    return Found(Qty(text=f"{first[0]:g} in {second[0]:g}", dimension="dilution"), second[2])


def _range(words: Sequence[Raw], at: int) -> Found | None:
    start = at
    between = words[at].text in ("between", "from")
    low = number(words, at + 1 if between else at)
    if low is None:
        return None
    step = low[2]
    unit = match(words, step, vocabulary_of_measures()["unit"], 3)
    led = start if words[start].text == "from" else start - 1
    if (
        led >= 0
        and words[led].text == "from"
        and not (led and words[led - 1].text in ("anything", "anywhere", "somewhere"))
    ):
        last_unit = _unit_after_to(words, unit[1] if unit else step)
        if last_unit in ("degC", "degF", "l", "ml", "cl", "dl", "mm", "cm"):
            return None  # "warmed from 20 to 60 degrees" tells where it began and where it ended
    joined = unit[1] if unit else step
    if joined >= len(words) or words[joined].text not in ("-", "to", "and", "or"):
        return None
    if words[joined].text == "and" and not (between and words[start].text == "between"):
        return None
    high = number(words, joined + 1)
    if high is None:
        return None
    last = match(words, high[2], vocabulary_of_measures()["unit"], 3)
    if not (unit and last and unit[0] != last[0]) and high[0] <= low[0]:
        return None
    if (
        unit
        and last
        and dimension_of(unit[0]) == dimension_of(last[0])
        and size(high[0], last[0]) <= size(low[0], unit[0])
    ):
        return None
    if last is None and words[start].text == "from" and high[1].isdigit() and not _acid(words, start):
        return None  # "from 3 to 5" tells two times of day
    if last is None:
        if unit is not None or words[joined].text not in ("-", "and", "to"):
            return None
        text = f"{low[1]}-{high[1]}"
        return Found(Qty(text=text, dimension="number", figure=text), high[2])
    if unit is not None and unit[0] != last[0]:
        if dimension_of(unit[0]) != dimension_of(last[0]):
            return None
        return of_unit(f"{low[1]} {unit[0]} to {high[1]}", last[0], last[1])
    return of_unit(f"{low[1]}-{high[1]}", last[0], last[1])


def _unit_after_to(words: Sequence[Raw], at: int) -> str:
    """Return the unit of the second figure of "from 20 to 60 degrees", or ""."""
    if at >= len(words) or words[at].text != "to":
        return ""
    high = number(words, at + 1)
    last = match(words, high[2], vocabulary_of_measures()["unit"], 3) if high else None
    return last[0] if last else ""


def _acid(words: Sequence[Raw], at: int) -> bool:
    """Return whether a figure without a unit is a pH."""
    return any(w.text in ("ph", "strip", "paper", "acidity") for w in words[:at])


def _measured(words: Sequence[Raw], at: int) -> Found | None:
    """Read "640 g", "2 lb 3 oz", "1 h 30", "two and a half teaspoons", "a pint and a half", "14 ± 1 g/L"."""
    low = number(words, at)
    if low is None:
        return None
    step, figure = low[2], low[1]
    while (
        step < len(words)
        and words[step].text in ("more", "further", "extra", "heaped", "level", "good")
        and unit_at(words, step) is None
    ):
        if words[step].text in ("heaped", "level"):
            break
        step += 1
    if step + 1 < len(words) and words[step].text in ("±", "+/-"):
        plus = number(words, step + 1)
        unit = unit_at(words, plus[2]) if plus else None
        if plus and unit:
            return of_unit(f"{figure} ± {plus[1]}", *unit)
        if plus:
            return Found(
                Qty(text=f"{figure} ± {plus[1]}", dimension="number", figure=f"{figure} ± {plus[1]}"), plus[2]
            )
    unit = unit_at(words, step)
    if unit is None:
        strange = match(words, step, vocabulary_of_measures()["strange"], 2)
        if strange:
            return Found(
                Qty(text=f"{figure} {strange[0]}", dimension="unknown", figure=figure, unit=strange[0]),
                strange[1],
            )
        return None
    name, end = unit
    share = _after_unit(words, end)
    if share:
        return of_unit(f"{low[0] + share[0]:.6g}", name, share[1])
    return _compound(words, figure, name, end) or of_unit(figure, name, end)


def _compound(words: Sequence[Raw], figure: str, name: str, end: int) -> Found | None:
    """Read the smaller unit behind a greater: "2 lb 3 oz", "an hour and twenty minutes", "1 h 30"."""
    more = number(words, end + 1 if end < len(words) and words[end].text == "and" else end)
    if more is None or "/" in more[1]:
        return None
    second = unit_at(words, more[2])
    if (
        second
        and second[0] != name
        and dimension_of(second[0]) == dimension_of(name)
        and smaller(second[0], name)
    ):
        found = of_unit(f"{figure} {name} {more[1]}", *second)
        return found if dimension_of(name) in ("mass", "volume", "time") else None
    if (
        name == "h"
        and more[0] < 60
        and second is None
        and (
            words[end].glued
            or (more[0] >= 5 and words[end].sort == "number")
            or _and_minutes(words, end, more[0])
        )
    ):
        return of_unit(f"{figure} h {more[1]}", "min", more[2])
    return None


def _and_minutes(words: Sequence[Raw], end: int, many: float) -> bool:
    """Return whether "an hour and twenty" tells minutes without their name."""
    return (
        words[end].text == "and" and many >= 5 and many % 5 == 0
    )  # numbers-in-code: minutes are told in fives


def _after_unit(words: Sequence[Raw], end: int) -> tuple[float, int] | None:
    """Read the "and a half" of "a pint and a half"."""
    if end + 1 < len(words) and words[end].text == "and":
        step = end + 2 if words[end + 1].text in ARTICLES else end + 1
        if step < len(words) and words[step].text in ("half", "quarter", "third"):
            above, below = SHARES[words[step].text]
            of_a = [w.text for w in words[step + 1 : step + 3]]
            if unit_at(words, step + 1) is None and not (
                len(of_a) == 2 and of_a[0] == "of" and of_a[1] in ARTICLES
            ):
                return above / below, step + 1
    return None


def _one_unit(words: Sequence[Raw], at: int) -> Found | None:
    """Read "a pint", "an ounce", "a litre and a half"; "several drops" have no figure."""
    if (
        words[at].text in ("several", "some", "many")
        and (many := unit_at(words, at + 1))
        and len(words[at + 1].text) > 1
    ):
        return Found(
            Qty(text=f"{words[at].text} {many[0]}", dimension="unknown", figure="", unit=many[0]), many[1]
        )
    another = words[at].text == "another"
    if not (another or words[at].text in ARTICLES) or at + 1 >= len(words):
        return None
    step = at + 1
    skipped = words[step].text in ("good", "full", "scant", "further", "bare")
    unit = unit_at(words, step + 1 if skipped and step + 1 < len(words) else step)
    if unit and unit[0] == "s" and words[step].text == "second" and _goes_on(words, unit[1]):
        return None  # a second jar
    if another and (unit is None or unit[0] in ("drop", "drops")):
        return None  # another jar is a jar, and another drop may be one on the skin
    if unit is None or len(words[step].text) < 2 or unit[0] in ("degC", "%"):
        if words[step].text in ("few", "little") and (unit := unit_at(words, step + 1)):
            return Found(Qty(text=f"a few {unit[0]}", dimension="unknown", figure="", unit=unit[0]), unit[1])
        strange = match(words, step, vocabulary_of_measures()["strange"], 2)
        if strange:
            return Found(
                Qty(text=f"1 {strange[0]}", dimension="unknown", figure="1", unit=strange[0]), strange[1]
            )
        return None
    name, end = unit
    share = _after_unit(words, end)
    if share:
        return of_unit(f"{1 + share[0]:.6g}", name, share[1])
    return _compound(words, "1", name, end) or of_unit("1", name, end)


#: Units that are as soon another thing where no article stands before them: a drop on the skin, the cup of a meter.
_OTHERWISE = frozenset(
    {"second", "drop", "spoon", "finger", "stone", "point", "part", "degree", "night", "hand", "grain"}
)
#: Words behind which a lone unit counts one: "for hour", "about pint".
_COUNTING = frozenset(
    {"for", "about", "around", "nearly", "almost", "roughly", "over", "another", "maybe", "just"}
)
_SHORTEST = len("day")
#: Measures of the kitchen that tell one by themselves: "chalk: pinch".
_KITCHEN = frozenset(
    {
        "pinch",
        "handful",
        "spoonful",
        "cupful",
        "teaspoon",
        "tablespoon",
        "teaspoonful",
        "tablespoonful",
        "splash",
    }
)


def _bare_unit(words: Sequence[Raw], at: int) -> Found | None:
    """Read "pint of gall liquor", "for hour", "kilo and a half of cones": one of it, said in a hurry."""
    word = words[at]
    if (
        word.sort != "word"
        or len(word.text) < _SHORTEST
        or word.text in _OTHERWISE
        or fold(word.text) != word.text
    ):
        return None
    before = words[at - 1] if at else None
    if before is not None and (
        before.sort in ("number", "glyph")
        or before.text in (*ARTICLES, *(_LEADS - _COUNTING - {"the"}), *SMALL, *TENS)
    ):
        return None
    unit = unit_at(words, at)
    if unit is None or unit[1] != at + 1 or dimension_of(unit[0]) not in ("mass", "volume", "time"):
        return None
    name, end = unit
    share = _after_unit(words, end)
    if share:
        return of_unit(f"{1 + share[0]:.6g}", name, share[1])
    counted = before is not None and before.text in _COUNTING
    of = end < len(words) and words[end].text == "of" and dimension_of(name) != "time"
    ago = end < len(words) and words[end].text == "ago"
    hedged = counted and (
        (before is not None and before.text not in ("for", "over")) or dimension_of(name) == "time"
    )
    alone = word.text in _KITCHEN and (end >= len(words) or words[end].sort == "mark")
    brim = before is not None and before.text == "the" and at > 1 and words[at - 2].text == "to"
    if of or hedged or ago or alone or (brim and dimension_of(name) == "volume"):
        return _compound(words, "1", name, end) or of_unit("1", name, end)
    return None


def _goes_on(words: Sequence[Raw], at: int) -> bool:
    """Return whether a thing follows, so that "a second" counts it."""
    return (
        at < len(words)
        and words[at].sort == "word"
        and words[at].text not in ("or", "to", "for", "and", "after", "before", "with", "then", "ago", "in")
    )


def _part(words: Sequence[Raw], at: int) -> tuple[float, str, int] | None:
    """Read "half", "a third", "three fifths", "a quarter"."""
    step = at
    above = 1
    if words[step].text in ARTICLES:
        step += 1
    elif words[step].text in SMALL and step + 1 < len(words) and fold(words[step + 1].text) in SHARES:
        above, step = SMALL[words[step].text], step + 1
    if step >= len(words) or fold(words[step].text) not in SHARES:
        return None
    name = fold(words[step].text)
    if step == at and name not in ("half", "halve", "quarter") and _counts(words, at):
        return None  # "its third dose" counts, and is no share
    if step > at and words[at].text == "one" and name == "half":
        above = 1
    top, below = SHARES[name]
    count = {
        1: "a",
        2: "two",
        3: "three",
        4: "four",
        5: "five",
        6: "six",
        7: "seven",
        8: "eight",
        9: "nine",
    }.get(above, "")
    text = "half" if name == "half" and above == 1 else f"{count} {name}{'s' if above > 1 else ''}"
    return above * top / below, text, step + 1


_LEADS = frozenset({"its", "the", "this", "that", "my", "our", "his", "her", "their", "for"})


def _counts(words: Sequence[Raw], at: int) -> bool:
    """Return whether "third", "fifth" counts what was done: behind "its" or "the", and with no "of" after it."""
    after = words[at + 1].text if at + 1 < len(words) else ""
    return bool(at) and words[at - 1].text in _LEADS and after not in ("of", "")


def _share_of_unit(words: Sequence[Raw], at: int) -> Found | None:
    """Read "half a litre", "a quarter of a pound", "half a millimetre", "three quarters of an hour"."""
    part = _part(words, at)
    if part is None:
        return None
    step = part[2]
    if step < len(words) and words[step].text == "of":
        step += 1
    if step >= len(words):
        return None
    plain = (
        step == part[2] and len(words[step].text) > 2 and part[1] in ("half", "a quarter", "three quarters")
    )
    if plain and (near := unit_at(words, step)) and near[0] not in ("degC", "degF", "%"):
        return of_unit(f"{part[0]:.6g}", *near)  # "half hour", "a half litre", "a quarter pound"
    if words[step].text not in ARTICLES:
        hurried = unit_at(words, step) if step > part[2] and len(words[step].text) > 1 else None
        return of_unit(f"{part[0]:.6g}", *hurried) if hurried and dimension_of(hurried[0]) == "time" else None
    unit = unit_at(words, step + 1)
    if unit is None:
        strange = match(words, step + 1, vocabulary_of_measures()["strange"], 2)
        if strange:
            return Found(
                Qty(text=f"{part[1]} {strange[0]}", dimension="unknown", unit=strange[0]), strange[1]
            )
        return None
    if unit[0] in ("d", "day", "days"):
        return (
            Found(Qty(text="half a day", dimension="time"), unit[1])
            if part[0] == 1 / 2
            else of_unit(f"{part[0] * 24:g}", "h", unit[1])
        )
    return of_unit(f"{part[0]:.6g}", *unit)


def _share(words: Sequence[Raw], at: int) -> Found | None:
    part = _part(words, at)
    if part:
        nxt = words[part[2]].text if part[2] < len(words) else ""
        if nxt in ("past", "to") and part[2] + 1 < len(words) and number(words, part[2] + 1):
            return None
        if nxt == "water":
            return None
        return Found(Qty(text=part[1], dimension="fraction", figure=part[1]), part[2])
    plain = number(words, at)
    if plain and "/" in plain[1] and " " not in plain[1] and plain[0] < 1 and not unit_at(words, plain[2]):
        return Found(Qty(text=plain[1], dimension="fraction", figure=plain[1]), plain[2])
    return None
