"""Amounts among the words: numbers in figures and words, units, ranges, hedges, shares."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence

import attrs

from inkhorn.daybook.measures import measures
from inkhorn.errors import QuantityError
from inkhorn.quantities import read_quantity
from inkhorn.sentences.lexicon import table
from inkhorn.sentences.tokens import Qty, Raw, folded
from inkhorn.units import PLAIN, fold, read_unit

_SMALL = {
    word: number
    for number, word in enumerate(
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
         "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
    )
}  # fmt: skip
_TENS = {
    word: 10 * number
    for number, word in enumerate(
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2
    )
}
_SHARES = {
    "half": (1, 2), "third": (1, 3), "quarter": (1, 4), "fifth": (1, 5), "sixth": (1, 6), "seventh": (1, 7),
    "eighth": (1, 8), "ninth": (1, 9), "tenth": (1, 10), "halve": (1, 2),
}  # fmt: skip
_A = frozenset({"a", "an", "one"})
_BEFORE_ONE = frozenset(
    {"other", "this", "that", "last", "first", "next", "same", "each", "every", "which", "big", "small", "old", "new", "dark", "latter", "former"}
)  # fmt: skip
_NOUGHT = frozenset({"oh", "o", "nought", "naught", "zero"})
_TERMINAL = {
    "mass": "MASS", "volume": "VOLUME", "time": "TIME", "length": "LENGTH", "temperature": "TEMP",
    "viscosity": "VISCOSITY", "mass_conc": "CONC", "amount_conc": "CONC", "power": "HEAT", "fraction": "SHARE",
    "percent": "PERCENT", "number": "NUMBER", "dilution": "DILUTION", "angle": "ANGLE", "unknown": "STRANGE",
    "barkometer": "BARK", "brix": "BRIX",
}  # fmt: skip


@attrs.frozen
class Found:
    """An amount and the place after it."""

    qty: Qty
    end: int
    guess: str = ""

    @property
    def type(self) -> str:
        """Terminal of the grammar."""
        return _TERMINAL[self.qty.dimension]


@functools.cache
def _words() -> Mapping[str, Mapping[tuple[str, ...], str]]:
    """Return hedges and units by their words: to the hedge, and to the unit as `read_quantity` knows it."""
    measured = table("measures")
    hedges = {folded(phrase): hedge for hedge, phrases in measured["hedge"].items() for phrase in phrases}
    tails = {folded(phrase): hedge for hedge, phrases in measured["tail"].items() for phrase in phrases}
    units = {folded(name): name for name in (*measures().units, *PLAIN) if name not in ("barkometer", "hand")}
    units |= {folded(word): unit for unit, words in measured["unit"].items() for word in words}
    strange = {folded(word): word for word in measured["strange"]["words"]}
    phrases = {folded(phrase): name for name, words in measured["phrase"].items() for phrase in words}
    return {"hedge": hedges, "tail": tails, "unit": units, "strange": strange, "phrase": phrases}


def _match(
    words: Sequence[Raw], at: int, phrases: Mapping[tuple[str, ...], str], most: int = 5
) -> tuple[str, int] | None:
    """Return the longest of some phrases that stands at a place, and the place after it."""
    for size in range(min(most, len(words) - at), 0, -1):
        key = tuple(fold(w.text) or w.text for w in words[at : at + size])
        if key in phrases and words[at].text != "says":
            return phrases[key], at + size
    return None


def number(words: Sequence[Raw], at: int) -> tuple[float, str, int] | None:
    """Return the number that stands at a place: its value, how it is written plainly, the place after it."""
    if at >= len(words):
        return None
    word = words[at]
    if word.sort == "glyph":
        above, _, below = word.text.partition("/")
        return int(above) / int(below), word.text, at + 1
    if word.sort == "number":
        return _figures(words, at)
    if word.text == "one" and at and words[at - 1].text in _BEFORE_ONE:
        return None  # "the other one" counts nothing
    if word.text == "point":
        return _point(words, at, 0)
    if word.text in _A and at + 1 < len(words) and words[at + 1].text == "dozen":
        return 12, "12", at + 2
    if word.text == "a" and [w.text for w in words[at + 1 : at + 3]] == ["couple", "of"]:
        return 2, "2", at + 3
    if word.text in _SMALL or word.text in _TENS or (
        word.text in _A and at + 1 < len(words) and words[at + 1].text == "hundred"
    ):  # fmt: skip
        value, end = _spelt(words, at)
        if end < len(words) and words[end].text == "point":
            return _point(words, end, value)  # None where no figure follows: it was not said out
        return _and_a_half(words, end, value)
    return None


def _point(words: Sequence[Raw], end: int, value: float) -> tuple[float, str, int] | None:
    """Read the "point oh four" of "one point oh four"."""
    if end >= len(words) or words[end].text != "point":
        return None
    digits, step = "", end + 1
    while step < len(words) and (
        words[step].text in _NOUGHT or _SMALL.get(words[step].text, len(_SMALL)) in range(10)
    ):
        digits += "0" if words[step].text in _NOUGHT else str(_SMALL[words[step].text])
        step += 1
    if not digits:
        if step < len(words) and words[step].sort == "number" and words[step].text.isdigit():
            digits, step = words[step].text, step + 1
        elif step < len(words) and words[step].text in _TENS:
            more, step = _spelt(words, step)  # "one point twenty five"
            digits = f"{more:g}"
        else:
            return None
    text = f"{value:g}.{digits}"
    return float(text), text, step


def _figures(words: Sequence[Raw], at: int) -> tuple[float, str, int]:
    text, end = words[at].text, at + 1
    plain = text.replace(",", ".")
    plain = f"0{plain}" if plain.startswith(".") else plain
    if end < len(words) and words[end].sort == "glyph":
        return _mixed(float(plain), words[end].text, end + 1)
    if (
        end + 1 < len(words)
        and words[end].text == "/"
        and words[end].glued
        and words[end + 1].sort == "number"
    ):
        after = end + 2
        if (
            after < len(words)
            and words[after].text in ("rd", "th", "rds", "ths", "nd")
            and words[after].glued
        ):
            after += 1
        return float(plain) / max(float(words[end + 1].text), 1e-9), f"{plain}/{words[end + 1].text}", after
    if (
        end + 2 < len(words) and words[end].sort == "number" and words[end + 1].text == "/" and words[end + 1].glued
        and words[end + 2].sort == "number"
    ):  # fmt: skip
        return _mixed(float(plain), f"{words[end].text}/{words[end + 2].text}", end + 3)
    if "," in text and len(text.partition(",")[2]) == 3:
        return float(plain), text, end  # thousands or a decimal: `read_quantity` asks
    return _and_a_half(words, end, float(plain), plain)


def _mixed(whole: float, part: str, end: int) -> tuple[float, str, int]:
    above, _, below = part.partition("/")
    return whole + int(above) / int(below), f"{whole:g} {part}", end


def _and_a_half(words: Sequence[Raw], end: int, value: float, plain: str = "") -> tuple[float, str, int]:
    """Read "two and a half"; a share after a unit is read with the unit."""
    if end + 1 < len(words) and words[end].text == "and":
        step = end + 2 if words[end + 1].text in _A else end + 1
        if step < len(words) and words[step].text in ("half", "quarter", "third"):
            above, below = _SHARES[words[step].text]
            more = value + above / below
            return more, f"{more:.6g}", step + 1
        if step + 1 < len(words) and words[step].text == "three" and words[step + 1].text == "quarters":
            return value + 3 / 4, f"{value + 3 / 4:.6g}", step + 2
    return value, plain or f"{value:g}", end


def _spelt(words: Sequence[Raw], at: int) -> tuple[float, int]:
    value, end = 0.0, at
    while end < len(words):
        word = words[end].text
        if word in _TENS and (end == at or words[end - 1].text in ("hundred", "and", "thousand")):
            value += _TENS[word]
        elif word in _SMALL and (end == at or words[end - 1].text in (*_TENS, "hundred", "and", "thousand")):
            value += _SMALL[word]
        elif word in _A and end == at:
            value += 1
        elif word in ("hundred", "thousand") and value:
            value *= 100 if word == "hundred" else 1000
        elif (
            word == "and"
            and end + 1 < len(words)
            and words[end - 1].text == "hundred"
            and (words[end + 1].text in _TENS or words[end + 1].text in _SMALL)
        ):
            pass
        else:
            break
        end += 1
    return value, end


# ---------------------------------------------------------------- amounts


def amount(words: Sequence[Raw], at: int) -> Found | None:
    """Return the amount that begins at a place, or None."""
    known = _words()
    phrase = _match(words, at, known["phrase"], 5)
    if phrase:
        found = _phrase(*phrase)
        rest = any(
            w.text in ("rest", "remainder", "remained", "left", "remains") for w in words[at : phrase[1]]
        )
        return attrs.evolve(found, qty=attrs.evolve(found.qty, unit="rest")) if found and rest else found
    hedge, start = "", at
    hedged = _match(words, at, known["hedge"], 3)
    while hedged:
        hedge, start = hedged[0] if hedged[0] != "-" else hedge, hedged[1]
        hedged = _match(words, start, known["hedge"], 3)
    body = _body(words, start)
    if body is None and start > at:
        inner = _match(words, start, known["phrase"], 4)
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
    tail = _match(words, end, _words()["tail"], 5) if words else None
    if tail is None and words and end < len(words) and words[end].text == ",":
        tail = _match(words, end + 1, _words()["tail"], 5)
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
    for read in (_dilution, _range, _share_of_unit, _measured, _share, _one_unit):
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
    if second is None or second[0] <= first[0] or _match(words, second[2], _words()["unit"], 3):
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
    unit = _match(words, step, _words()["unit"], 3)
    joined = unit[1] if unit else step
    if joined >= len(words) or words[joined].text not in ("-", "to", "and", "or"):
        return None
    if words[joined].text == "and" and not (between and words[start].text == "between"):
        return None
    high = number(words, joined + 1)
    if high is None:
        return None
    last = _match(words, high[2], _words()["unit"], 3)
    if not (unit and last and unit[0] != last[0]) and high[0] <= low[0]:
        return None
    if (
        unit
        and last
        and _dimension(unit[0]) == _dimension(last[0])
        and _size(high[0], last[0]) <= _size(low[0], unit[0])
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
        if _dimension(unit[0]) != _dimension(last[0]):
            return None
        return _of(f"{low[1]} {unit[0]} to {high[1]}", last[0], last[1])
    return _of(f"{low[1]}-{high[1]}", last[0], last[1])


def _acid(words: Sequence[Raw], at: int) -> bool:
    """Return whether a figure without a unit is a pH."""
    return any(w.text in ("ph", "strip", "paper", "acidity") for w in words[:at])


def _of(figure: str, unit: str, end: int) -> Found | None:
    dimension = _dimension(unit)
    if dimension is None:
        return None
    return Found(Qty(text=f"{figure} {unit}", dimension=dimension, figure=figure, unit=unit), end)


@functools.cache
def _dimension(unit: str) -> str | None:
    if unit in ("%", "percent"):
        return "percent"
    try:
        return read_unit(unit, measures().units, "").dimension
    except QuantityError:
        return None


def _unit(words: Sequence[Raw], at: int) -> tuple[str, int] | None:
    return _match(words, at, _words()["unit"], 3)


def _measured(words: Sequence[Raw], at: int) -> Found | None:
    """Read "640 g", "2 lb 3 oz", "1 h 30", "two and a half teaspoons", "a pint and a half", "14 ± 1 g/L"."""
    low = number(words, at)
    if low is None:
        return None
    step, figure = low[2], low[1]
    while (
        step < len(words)
        and words[step].text in ("more", "further", "extra", "heaped", "level", "good")
        and _unit(words, step) is None
    ):
        if words[step].text in ("heaped", "level"):
            break
        step += 1
    if step + 1 < len(words) and words[step].text in ("±", "+/-"):
        plus = number(words, step + 1)
        unit = _unit(words, plus[2]) if plus else None
        if plus and unit:
            return _of(f"{figure} ± {plus[1]}", *unit)
        if plus:
            return Found(
                Qty(text=f"{figure} ± {plus[1]}", dimension="number", figure=f"{figure} ± {plus[1]}"), plus[2]
            )
    unit = _unit(words, step)
    if unit is None:
        strange = _match(words, step, _words()["strange"], 2)
        if strange:
            return Found(
                Qty(text=f"{figure} {strange[0]}", dimension="unknown", figure=figure, unit=strange[0]),
                strange[1],
            )
        return None
    name, end = unit
    share = _after_unit(words, end)
    if share:
        return _of(f"{low[0] + share[0]:.6g}", name, share[1])
    return _compound(words, figure, name, end) or _of(figure, name, end)


def _compound(words: Sequence[Raw], figure: str, name: str, end: int) -> Found | None:
    """Read the smaller unit behind a greater: "2 lb 3 oz", "an hour and twenty minutes", "1 h 30"."""
    more = number(words, end + 1 if end < len(words) and words[end].text == "and" else end)
    if more is None or "/" in more[1]:
        return None
    second = _unit(words, more[2])
    if (
        second
        and second[0] != name
        and _dimension(second[0]) == _dimension(name)
        and _smaller(second[0], name)
    ):
        found = _of(f"{figure} {name} {more[1]}", *second)
        return found if _dimension(name) in ("mass", "volume", "time") else None
    if (
        name == "h"
        and more[0] < 60
        and second is None
        and (words[end].glued or (more[0] >= 5 and words[end].sort == "number"))
    ):
        return _of(f"{figure} h {more[1]}", "min", more[2])
    return None


def _size(value: float, unit: str) -> float:
    if unit in ("%", "percent"):
        return value
    known = read_unit(unit, measures().units, "")
    return value * known.factor + known.offset


def _smaller(one: str, other: str) -> bool:
    first, second = (read_unit(u, measures().units, "") for u in (one, other))
    return first.factor < second.factor


def _after_unit(words: Sequence[Raw], end: int) -> tuple[float, int] | None:
    """Read the "and a half" of "a pint and a half"."""
    if end + 1 < len(words) and words[end].text == "and":
        step = end + 2 if words[end + 1].text in _A else end + 1
        if step < len(words) and words[step].text in ("half", "quarter", "third"):
            above, below = _SHARES[words[step].text]
            of_a = [w.text for w in words[step + 1 : step + 3]]
            if _unit(words, step + 1) is None and not (len(of_a) == 2 and of_a[0] == "of" and of_a[1] in _A):
                return above / below, step + 1
    return None


def _one_unit(words: Sequence[Raw], at: int) -> Found | None:
    """Read "a pint", "an ounce", "a litre and a half"; "several drops" have no figure."""
    if (
        words[at].text in ("several", "some", "many")
        and (many := _unit(words, at + 1))
        and len(words[at + 1].text) > 1
    ):
        return Found(
            Qty(text=f"{words[at].text} {many[0]}", dimension="unknown", figure="", unit=many[0]), many[1]
        )
    another = words[at].text == "another"
    if not (another or words[at].text in _A) or at + 1 >= len(words):
        return None
    step = at + 1
    skipped = words[step].text in ("good", "full", "scant", "further", "bare")
    unit = _unit(words, step + 1 if skipped and step + 1 < len(words) else step)
    if unit and unit[0] == "s" and words[step].text == "second" and _goes_on(words, unit[1]):
        return None  # a second jar
    if another and (unit is None or unit[0] in ("drop", "drops")):
        return None  # another jar is a jar, and another drop may be one on the skin
    if unit is None or len(words[step].text) < 2 or unit[0] in ("degC", "%"):
        if words[step].text in ("few", "little") and (unit := _unit(words, step + 1)):
            return Found(Qty(text=f"a few {unit[0]}", dimension="unknown", figure="", unit=unit[0]), unit[1])
        strange = _match(words, step, _words()["strange"], 2)
        if strange:
            return Found(
                Qty(text=f"1 {strange[0]}", dimension="unknown", figure="1", unit=strange[0]), strange[1]
            )
        return None
    name, end = unit
    share = _after_unit(words, end)
    if share:
        return _of(f"{1 + share[0]:.6g}", name, share[1])
    return _compound(words, "1", name, end) or _of("1", name, end)


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
    if words[step].text in _A:
        step += 1
    elif words[step].text in _SMALL and step + 1 < len(words) and fold(words[step + 1].text) in _SHARES:
        above, step = _SMALL[words[step].text], step + 1
    if step >= len(words) or fold(words[step].text) not in _SHARES:
        return None
    name = fold(words[step].text)
    if step > at and words[at].text == "one" and name == "half":
        above = 1
    top, below = _SHARES[name]
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
    if plain and (near := _unit(words, step)) and near[0] not in ("degC", "degF", "%"):
        return _of(f"{part[0]:.6g}", *near)  # "half hour", "a half litre", "a quarter pound"
    if words[step].text not in _A:
        return None
    unit = _unit(words, step + 1)
    if unit is None:
        strange = _match(words, step + 1, _words()["strange"], 2)
        if strange:
            return Found(
                Qty(text=f"{part[1]} {strange[0]}", dimension="unknown", unit=strange[0]), strange[1]
            )
        return None
    if unit[0] in ("d", "day", "days"):
        return (
            Found(Qty(text="half a day", dimension="time"), unit[1])
            if part[0] == 1 / 2
            else _of(f"{part[0] * 24:g}", "h", unit[1])
        )
    return _of(f"{part[0]:.6g}", *unit)


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
    if plain and "/" in plain[1] and " " not in plain[1] and plain[0] < 1 and not _unit(words, plain[2]):
        return Found(Qty(text=plain[1], dimension="fraction", figure=plain[1]), plain[2])
    return None


def terminal(qty: Qty) -> str:
    """Return the terminal of an amount."""
    return _TERMINAL[qty.dimension]
