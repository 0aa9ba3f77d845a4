"""Amounts as a maker says them: grams with the spoon that holds them, ml with the cup, time in round words.

Pure functions of numbers. Sizes of spoons and how densely a powder lies are
handbook rows (``measures.unit.*``, ``materials.*.bulk_density``). Units of
chemistry are said where they are asked for, and nowhere else.

>>> amount_words(12, "g", material="plum-gum")
'12 g (three and a half level teaspoons)'
>>> amount_words(240, "ml")
'240 ml (a cup)'
>>> time_words(5400)
'about an hour and a half'
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Protocol

from inkhorn.chemistry.hydrates import molar_mass
from inkhorn.flow import water
from inkhorn.flow.film import ink_per_metre
from inkhorn.handbook.load import group, row, value
from inkhorn.quantities import Quantity

_WORDS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
# numbers-in-code: fractions as words, by definition
_SHARES = ((0.1, "a tenth"), (0.125, "an eighth"), (1 / 6, "a sixth"), (0.2, "a fifth"), (0.25, "a quarter"),
           (1 / 3, "a third"), (0.4, "two fifths"), (0.5, "half"), (0.6, "three fifths"), (2 / 3, "two thirds"),
           (0.75, "three quarters"), (0.8, "four fifths"), (0.9, "nine tenths"))  # fmt: skip


class Pot(Protocol):
    """What is asked of a vessel: its capacity and inner depth, either None where nobody said."""

    @property
    def capacity(self) -> Quantity | None: ...  # noqa: D102
    @property
    def depth(self) -> Quantity | None: ...  # noqa: D102


def amount_words(
    amount: float,
    unit: str,
    material: str | None = None,
    vessel: Pot | None = None,
    *,
    held: float | None = None,
    chemistry: bool = False,
) -> str:
    """Return an amount in figures, and in brackets as a maker without a scale would take it.

    Parameters
    ----------
    amount : float
        Already rounded to what can be measured out.
    unit : str
        ``"g"``, ``"ml"``, ``"s"``, ``"degC"``, ``"1"`` (a share), ``"mPa s"`` or ``"mmol/L"`` (of iron).
    material : str, optional
        Handbook key of what is weighed: says how much of it a spoon holds.
    vessel : Thing, optional
        The vessel that a volume stands in: its depth in fingers where its shape is known.
    held : float, optional
        ml that the pot holds: a volume is said as a share of it too.
    chemistry : bool
        Whether units of the laboratory are said as well.
    """
    if unit == "g":
        return _with(mass_figure(amount), spoon_words(amount, material))
    if unit == "ml":
        return _with(volume_figure(amount), volume_aside(amount, vessel=vessel, held=held))
    if unit == "s":
        return time_words(amount)
    if unit == "degC":
        return warmth_words(amount)
    if unit == "1":
        return share_words(amount)
    if unit == "mPa s":
        return thickness_words(amount, chemistry=chemistry)
    if unit == "mmol/L":
        return iron_words(amount, chemistry=chemistry)
    return f"{_digits(amount)} {unit}"


def _with(figure: str, aside: str | None) -> str:
    return f"{figure} ({aside})" if aside else figure


def _digits(number: float) -> str:
    """Return a number with no more than three figures and no exponent."""
    # numbers-in-code: from here on whole numbers are said
    return f"{number:.0f}" if abs(number) >= 100 else f"{float(f'{number:.3g}'):g}"


def two_digits(number: float) -> str:
    """Return a number to two figures as anybody writes it: 370, never 3.7e+02."""
    return f"{float(f'{number:.2g}'):g}"


def mass_figure(grams: float) -> str:
    """Return a mass in g, or in kg from one kilogram."""
    return f"{_digits(grams / 1000)} kg" if grams >= 1000 else f"{_digits(grams)} g"


def volume_figure(ml: float) -> str:
    """Return a volume in ml, or in litres from one litre."""
    if ml < 1000:
        return f"{_digits(ml)} ml"
    return "1 litre" if _digits(ml / 1000) == "1" else f"{_digits(ml / 1000)} litres"


# ---------------------------------------------------------------- spoons and cups

#: What nobody takes by the spoon though its heap has a density.
_NOT_SPOONED = ("iron-nails",)


def spoon_words(grams: float, material: str | None) -> str | None:
    """Return the spoons or cups that a mass of a powder or of loose pieces fills; None where none is near."""
    known = group("materials").get(material or "", {})
    if grams <= 0 or "bulk_density" not in known or material in _NOT_SPOONED:
        return None
    words = nearest_measure(grams / value(f"materials.{material}.bulk_density"), dry=True)
    bulk = row(f"materials.{material}.bulk_density")
    # How loosely leaf and bark lie nobody knows to a spoon.
    loose = bulk.spread > bulk.value * value("writing.eye.spoon")
    return f"about {words}" if words and loose and not words.startswith(("nearly", "a little")) else words


def volume_aside(ml: float, *, vessel: Pot | None = None, held: float | None = None) -> str | None:
    """Return a volume as fingers of depth, a share of the pot, or spoons and cups, whichever is to hand first."""
    if ml <= 0:
        return None
    fingers = finger_words(ml, vessel)
    if fingers:
        return fingers
    if held is not None and held > 0 and 0.1 <= ml / held < 1:
        return f"{share_words(ml / held)} of what is there"
    return nearest_measure(ml, dry=False)


def finger_words(ml: float, vessel: Pot | None) -> str | None:
    """Return how many fingers deep a volume stands in a vessel of known shape, taken as straight-sided."""
    if vessel is None or vessel.capacity is None or vessel.depth is None:
        return None
    fingers = ml * vessel.depth.value / vessel.capacity.value / value("measures.unit.finger.size")
    halves = round(2 * fingers)
    if halves < 1 or fingers > len(_WORDS):
        return None
    deep = {1: "half a finger", 2: "a finger"}.get(halves) or f"{_count(halves / 2)} fingers"
    return f"{deep} deep"


def nearest_measure(ml: float, *, dry: bool) -> str | None:
    """Return the kitchen measure nearest to a volume, "nearly" or "a little over" it; None where none is near.

    Parameters
    ----------
    ml : float
    dry : bool
        A powder or loose pieces, which can be heaped; else a liquid, of which little is counted in drops.
    """
    found = min(_measures(dry=dry), key=lambda m: abs(math.log(m[0] / ml)) + m[2])
    off = math.log(ml / found[0])
    if abs(off) > value("writing.eye.spoon"):
        return None
    if abs(off) <= value("writing.eye.near"):
        return found[1]
    return f"{'a little over' if off > 0 else 'nearly'} {found[1]}"


def _measures(*, dry: bool) -> Iterator[tuple[float, str, float]]:
    """Yield ml, words and what it costs in trouble to count so, in natural logarithms."""
    # numbers-in-code: how awkward a count is, in words
    awkward = 0.02
    spoon, table = value("measures.unit.teaspoon.size"), value("measures.unit.tablespoon.size")
    cup, level = value("measures.unit.cup.size"), "level " if dry else ""
    for count in range(1, 4):
        if dry:
            yield count * value("measures.unit.pinch.size"), _many(count, "pinch", "pinches"), awkward * count
            yield (
                count * value("measures.unit.heaped_teaspoon.size"),
                _many(count, "heaped teaspoon"),
                awkward * count,
            )
            yield (
                count * value("measures.unit.heaped_tablespoon.size"),
                _many(count, "heaped tablespoon"),
                awkward * count,
            )
        yield (
            count * table + spoon,
            f"{_many(count, level + 'tablespoon')} and a {level}teaspoon",
            3 * awkward,
        )
    if not dry:
        # numbers-in-code: drops that somebody would count
        for count in (2, 5, 10, 20):
            yield count * value("measures.unit.drop.size"), f"{_count(count)} drops", awkward
    for halves in range(1, 9):
        yield halves / 2 * spoon, _many(halves / 2, f"{level}teaspoon"), awkward * halves / 2
        yield halves / 2 * table, _many(halves / 2, f"{level}tablespoon"), awkward * halves / 2
        yield halves / 2 * cup, _many(halves / 2, "cup"), awkward * halves / 2
    yield cup / 4, "a quarter of a cup", awkward
    yield cup / 3, "a third of a cup", awkward
    yield 3 * cup / 4, "three quarters of a cup", awkward
    # Beyond four cups the litre jug.
    for halves in range(2, 2 * len(_WORDS)):
        yield halves / 2 * 1000, _many(halves / 2, "litre jug"), 0


def _many(count: float, one: str, more: str = "") -> str:
    """Return "half a cup", "a cup", "a cup and a half", "two and a half cups"."""
    if count == 0.5:
        return f"half a {one}"
    if count == 1:
        return f"a {one}"
    # numbers-in-code: one and a half, in words
    if count == 1.5:
        return f"a {one} and a half"
    return f"{_count(count)} {more or one + 's'}"


def _count(number: float) -> str:
    """Return whole and half numbers in words up to twelve, in figures beyond."""
    whole = int(number)
    if whole >= len(_WORDS):
        return f"{number:g}"
    if number == whole:
        return _WORDS[whole]
    return f"{_WORDS[whole]} and a half" if whole else "half"


# ---------------------------------------------------------------- shares, time, warmth


def share_words(share: float) -> str:
    """Return a share as it is said: "a fifth", "a little" for next to nothing, "all"."""
    # numbers-in-code: half-way from nothing to an eighth, and from nine tenths to all, in words
    if share < 0.07:
        return "a little"
    if share > 0.95:  # numbers-in-code: as above
        return "all"
    return min(_SHARES, key=lambda s: abs(math.log(s[0] / share)))[1]


def time_words(seconds: float) -> str:
    """Return a length of time in round words: "about 20 minutes", "about three hours", "two days"."""
    minutes = seconds / 60
    # numbers-in-code: where seconds become minutes in speech
    if seconds < 45:
        return f"about {max(round(seconds / 5) * 5, 1)} seconds"
    # numbers-in-code: where one unit of time gives way to the next in speech
    if minutes < 50:
        step = 1 if minutes < 10 else 5
        count = max(round(minutes / step) * step, 1)
        return "about a minute" if count == 1 else f"about {_count(count)} minutes"
    # numbers-in-code: as above
    if minutes < 36 * 60:
        # numbers-in-code: half-hours in speech
        halves = max(round(minutes / 30), 2)
        return f"about {_hours(halves / 2)}"
    days = minutes / (24 * 60)  # numbers-in-code: hours of a day
    if days < 12:
        return f"about {_many(round(days), 'day')}"
    weeks = days / 7
    if weeks < 9:
        return f"about {_many(round(weeks), 'week')}"
    # numbers-in-code: days of a month
    return f"about {_many(round(days / 30), 'month')}"


def _hours(count: float) -> str:
    if count > 2:
        return f"{_count(count)} hours"
    return "two hours" if count == 2 else "an hour" if count == 1 else "an hour and a half"


def warmth_words(celsius: float) -> str:
    """Return a temperature with the word that the hand has for it: "37 °C (hand-warm)"."""
    words = [(value(f"measures.phrase.{key}.amount"), name) for key, name in _WARMTHS]
    spread = {name: row(f"measures.phrase.{key}.amount").spread for key, name in _WARMTHS}
    centre, name = min(words, key=lambda w: abs(w[0] - celsius) / spread[w[1]])
    return _with(f"{celsius:.0f} °C", name if abs(centre - celsius) <= spread[name] else None)


_WARMTHS = (("ice_cold", "ice cold"), ("cold", "cold to the hand"), ("room", "as a lived-in room"),
            ("lukewarm", "lukewarm"), ("hand_warm", "hand-warm"), ("hot", "hot to the hand"),
            ("steaming", "steaming"), ("boiling", "boiling"))  # fmt: skip


# ---------------------------------------------------------------- what the laboratory has units for


def thickness_words(viscosity: float, *, chemistry: bool = False) -> str:
    """Return a viscosity (mPa s, at 20 °C) as how many times as thick as water it is, which ten drops tell."""
    times = viscosity / float(water.viscosity(value("flow.reference")))
    # numbers-in-code: as thin as water, in words
    plain = "as thin as water" if times < 1.15 else f"{two_digits(times)} times as thick as water"
    return _with(plain, f"{two_digits(viscosity)} mPa s" if chemistry else None)


def iron_words(mmol: float, *, chemistry: bool = False) -> str:
    """Return mmol of iron to a litre as grams of pure green vitriol that give it."""
    grams = mmol / 1000 * molar_mass("FeSO4.7H2O")
    return _with(
        f"as {two_digits(grams)} g of green vitriol in a litre",
        f"{two_digits(mmol)} mmol/L" if chemistry else None,
    )


# ---------------------------------------------------------------- colour


def steps_words(steps: float) -> str:
    """Return a difference of colour in steps (CIEDE2000, one being just seen side by side), no finer than an eye is."""
    # numbers-in-code: halves of a step up to two, in words
    if steps < 0.75:
        return "less than a just visible step of colour"
    if steps < 1.25:  # numbers-in-code: as above
        return "about one just visible step of colour"
    count = "one and a half" if steps < 1.75 else f"{steps:.0f}"  # numbers-in-code: as above
    return f"about {count} just visible steps of colour"


# ---------------------------------------------------------------- pages


def ink_a_page(*, film: Any, width: Any) -> Any:
    """Return ml of ink that a page of text takes, what the inkwell and the pen keep included.

    The pen goes `writing.travel` times along each line; there are as many
    lines as the hand is small: they lie `writing.spacing` widths of the pen apart.

    Parameters
    ----------
    film : array_like
        Wet film, um.
    width : array_like
        Width of the pen's broad stroke, mm.
    """
    lines = value("writing.height") / (value("writing.spacing") * width)
    metres = lines * value("writing.line") * value("writing.travel") / 1000
    on_page = ink_per_metre(width=width * value("writing.mean_stroke"), thickness=film) * metres / 1000
    return on_page * value("flow.film.waste")


def pages_words(ml: float, page: float) -> str:
    """Return for how many pages so much ink is enough, in round words: "about 40 pages", "about half a page".

    What a page takes is known to a factor of two (the rows of the handbook together), so no second figure is said, and
    beyond a thousand only that there are thousands.
    """
    pages = ml / page
    if pages < 0.5:
        return "less than half a page"
    if pages < 10:
        return f"about {_many(round(2 * pages) / 2 if pages < 2 else round(pages), 'page')}"
    step = 10.0 ** math.floor(math.log10(pages))
    # numbers-in-code: what rounds to a thousand, and to more
    if pages >= 1500:
        return "thousands of pages"
    # numbers-in-code: what rounds to a thousand
    if pages >= 950:
        return "about a thousand pages"
    return f"about {round(pages / step) * step:.0f} pages"
