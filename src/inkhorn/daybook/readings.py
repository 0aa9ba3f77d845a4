"""What a reading may name of each sort of thing, and how its value is read.

Canonical units: masses g, volumes ml, temperatures degC, times s, lengths mm,
viscosity mPa s, ``total_iron`` mmol/L, ``total_phenols`` g/L as gallic acid,
``dry_residue`` and ``gum`` g/L, or a mass fraction where per cent was written.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import attrs

from inkhorn.daybook.entries import Reading
from inkhorn.daybook.measures import measures
from inkhorn.daybook.names import nearest, thing_name
from inkhorn.daybook.told import limit, told_as
from inkhorn.daybook.words import resolve_word
from inkhorn.errors import InkhornError, MissingKeyError, QuantityError, UnknownKeyError, UnknownNameError
from inkhorn.handbook.load import value as row_value
from inkhorn.quantities import UNITS, Quantity, read_quantity

SUBJECTS = ("vessel", "lot", "trial", "support", "exemplar", "card")


@attrs.frozen(kw_only=True)
class Form:
    """How the value of one sort of reading is written.

    Parameters
    ----------
    says : str
        One line for the documentation.
    sort : str
        "quantity", "word", "channels", "picture", "than" or "steps".
    expect : tuple of str
        Dimensions of a quantity, the canonical one first.
    words : str
        Scale of a word.
    channels : tuple of str
        Keys of a dict of channels.
    instrument : str
        Instrument assumed where ``with`` is not given ("" : the usual one).
    against : bool
        Whether an exemplar may be named beside it.
    water : bool
        Whether the same device's figure for water may stand beside it.
    """

    says: str
    sort: str = "quantity"
    expect: tuple[str, ...] = ()
    words: str = ""
    channels: tuple[str, ...] = ()
    instrument: str = ""
    against: bool = False
    water: bool = False


_RGB, _LAB = ("R", "G", "B"), ("L", "a", "b")
_SAME: Mapping[str, Form] = {
    "mass": Form(says="what it weighs, without its vessel", expect=("mass",)),
    "volume": Form(
        says="how much there is; fingers of depth in a vessel of known depth", expect=("volume", "length")
    ),
    "temperature": Form(says="how warm it is", expect=("temperature",)),
    "ph": Form(says="pH", expect=("ph",)),
    "specific_gravity": Form(
        says="specific gravity at 20 C, or a density", expect=("specific_gravity", "mass_conc")
    ),
    "barkometer": Form(says="degrees barkometer", expect=("barkometer",)),
    "brix": Form(says="degrees Brix, or per cent by refractometer", expect=("brix", "fraction")),
    "dry_residue": Form(
        says="what is left when dried at 105 C", expect=("mass_conc", "fraction"), instrument="dish"
    ),
    "viscosity": Form(says="viscosity", expect=("viscosity",)),
    "drop_mass": Form(says="mass of one drop", expect=("mass",), instrument="dropper", water=True),
    "ten_drops": Form(
        says="mass or volume of ten drops", expect=("mass", "volume"), instrument="dropper", water=True
    ),
    "discharge": Form(
        says="time a fixed volume takes to run out", expect=("time",), instrument="discharge_cup", water=True
    ),
    "total_iron": Form(says="all iron", expect=("amount_conc", "mass_conc"), instrument="laboratory"),
    "total_phenols": Form(
        says="all phenols, as gallic acid", expect=("mass_conc", "amount_conc"), instrument="laboratory"
    ),
    "gum": Form(says="dissolved gum", expect=("mass_conc", "fraction"), instrument="laboratory"),
    "body": Form(says="how it runs", sort="word", words="body"),
    "surface": Form(says="its top, by eye, never by nose", sort="word", words="surface"),
}
_OF_SOLIDS = ("total_iron", "total_phenols", "gum", "dry_residue")
_LOT: Mapping[str, Form] = {
    what: attrs.evolve(form, expect=("fraction", *(d for d in form.expect if d != "fraction")))
    if what in _OF_SOLIDS
    else form
    for what, form in _SAME.items()
}
_DENSITY = Form(says="channel density: -log10 of ink over bare support", sort="channels", channels=_RGB)
_COLOUR = Form(says="CIE L*a*b*, D65 and 2 degrees", sort="channels", channels=_LAB)
_PHOTO = Form(says="a picture", sort="picture")
FORMS: Mapping[str, Mapping[str, Form]] = MappingProxyType(
    {
        "vessel": _SAME,
        "lot": _LOT,
        "trial": {
            "optical_density": _DENSITY,
            "lab": _COLOUR,
            "line_width": Form(says="width of the stroke", expect=("length",)),
            "raggedness": Form(says="how far its edge wanders", expect=("length",), instrument="calliper"),
            "photo": _PHOTO,
            "depth": Form(says="how deep it is", sort="word", words="depth", against=True),
            "hue": Form(says="how blue or brown it is", sort="word", words="hue", against=True),
            "flow": Form(says="how it left the pen", sort="word", words="flow"),
            "than": Form(says="how it stands to another trial", sort="than", words="than"),
        },
        "support": {
            "lab": _COLOUR,
            "side": Form(says="which side is written on", sort="word", words="side"),
            "absorbency": Form(says="how it takes ink", sort="word", words="absorbency"),
        },
        "exemplar": {
            "photo": _PHOTO,
            "optical_density": _DENSITY,
            "lab": attrs.evolve(_COLOUR, says="CIE L*a*b* of its intact ink"),
            "support_lab": attrs.evolve(_COLOUR, says="CIE L*a*b* of its bare support"),
        },
        "card": {
            "bar": Form(says="length of the bar of the printed card", expect=("length",), instrument="ruler"),
            "steps": Form(says="CIE L*a*b* of its paper and its steps, each by name", sort="steps"),
        },
    }
)


def read_subject(text: Any, where: str) -> str:
    """Return ``"vessel:tub"`` with the name as it is stored."""
    example = "Write for example vessel:tub or trial:t1"
    if not isinstance(text, str) or ":" not in text:
        raise UnknownNameError("this does not say what was read", where=where, mend=example)
    sort, _, name = text.partition(":")
    sort = sort.strip().casefold()
    if sort not in SUBJECTS:
        near = nearest(sort, SUBJECTS)
        mend = f"The nearest is {near}" if near else f"One of {', '.join(SUBJECTS)}"
        raise UnknownNameError(f"nothing is read of a {sort!r}", where=where, mend=mend)
    return f"{sort}:{thing_name(name, where)}"


def read_form(subject: str, what: Any, where: str) -> tuple[str, Form]:
    """Return the name and the form of a reading; raise naming the nearest."""
    sort = subject.partition(":")[0]
    forms = FORMS[sort]
    if not isinstance(what, str):
        raise UnknownNameError(
            "this does not say what was noticed", where=where, mend=f"One of {', '.join(forms)}"
        )
    name = what.strip().casefold().replace(" ", "_").replace("-", "_")
    if name not in forms:
        near = nearest(name, forms)
        may = f"of a {sort} one may read {', '.join(forms)}"
        mend = f"The nearest is {near}; {may}" if near else may.capitalize()
        raise UnknownNameError(f"{what!r} is not read of a {sort}", where=where, mend=mend)
    return name, forms[name]


def read_value(what: str, form: Form, value: Any, *, sd: Any, instrument: str, where: str) -> Any:
    """Read the value of a reading in its form; raise an `EntryError` where it does not fit."""
    if form.sort == "quantity":
        if not isinstance(value, str | int | float):
            raise QuantityError("this is no amount", where=where, mend='Write it as text, for example "3.5"')
        return read_amount(what, form, value, sd=sd, instrument=instrument, where=where)
    if form.sort == "channels":
        return read_channels(value, form.channels, where)
    if form.sort == "steps":
        return read_steps(value, where)
    if not isinstance(value, str) or not value.strip():
        raise QuantityError("this is to be text", where=where)
    if form.sort == "word":
        return resolve_word(value, form.words, where)
    if form.sort == "than":
        word, _, trial = value.strip().partition(" ")
        return f"{resolve_word(word, 'than', where)} {thing_name(trial.removeprefix('than '), where)}"
    return value.strip()


def read_amount(
    what: str, form: Form, value: str | float, *, sd: Any = None, instrument: str = "", where: str = ""
) -> Quantity:
    """Read the quantity of a reading and bring it to its canonical unit."""
    book = measures()
    chosen = instrument or form.instrument
    if instrument and not set(form.expect) & set(book.instruments[instrument]):
        raise UnknownNameError(
            f"{what.replace('_', ' ')} is not read with a {instrument.replace('_', ' ')}", where=where
        )
    how, body = limit(value)
    body, factor = told_as(body) if what == "total_phenols" else (body, 1.0)
    found = read_quantity(
        body, expect=form.expect, measures=book, where=where, instrument=chosen, sd=sd, nought=True
    )
    if factor != 1.0 and found.dimension != "amount_conc":
        found = attrs.evolve(found, value=found.value * factor, sd=found.sd * factor)
    written = value.strip() if isinstance(value, str) else found.text
    turned = _canonical(what, attrs.evolve(found, text=written, how=how or found.how))
    if what == "total_iron" and found.dimension == "mass_conc":
        return _as_iron(found, turned, chosen)
    return turned


def _as_iron(found: Quantity, turned: Quantity, instrument: str) -> Quantity:
    """Return iron told in g/L with the error of an assay of iron, where it had that of an assay of phenols."""
    known = measures().instruments.get(instrument, {})
    phenols, iron = known.get("mass_conc"), known.get("amount_conc")
    if phenols is None or iron is None or not math.isclose(found.sd, phenols.sd(found.value)):
        return turned
    return attrs.evolve(turned, sd=iron.sd(turned.value))


def _canonical(what: str, given: Quantity) -> Quantity:
    if what == "total_iron" and given.dimension == "mass_conc":
        return _turned(given, 1000 / row_value("measures.iron_molar_mass"), "amount_conc")
    if what == "total_phenols" and given.dimension == "amount_conc":
        return _turned(given, row_value("measures.gallic_acid_molar_mass") / 1000, "mass_conc")
    if what == "specific_gravity" and given.dimension == "mass_conc":
        turned = _turned(given, 1 / (1000 * row_value("measures.water_density_20")), "specific_gravity")
        return attrs.evolve(turned, shape="normal")
    if what == "brix" and given.dimension == "fraction":
        return attrs.evolve(_turned(given, 100, "brix"), shape="normal")
    return given


def _turned(given: Quantity, factor: float, dimension: str) -> Quantity:
    return attrs.evolve(
        given, value=given.value * factor, sd=given.sd * factor, unit=UNITS[dimension], dimension=dimension
    )


def read_channels(value: Any, channels: tuple[str, ...], where: str) -> dict[str, float]:
    """Read ``{"R": 0.82, "G": 0.88, "B": 0.86}`` or ``{"L": 31, "a": 1, "b": -2}``."""
    example = "Write for example " + (
        '{"R": 0.82, "G": 0.88, "B": 0.86}' if channels == _RGB else '{"L": 31, "a": 1, "b": 2}'
    )
    if not isinstance(value, Mapping):
        raise QuantityError("this is to be three channels", where=where, mend=example)
    by_fold = {channel.casefold(): channel for channel in channels}
    out: dict[str, float] = {}
    for key, number in value.items():
        channel = by_fold.get(str(key).casefold())
        if channel is None:
            raise UnknownKeyError(
                f"{key!r} is no channel of {', '.join(channels)}", where=where, mend=example
            )
        if isinstance(number, bool) or not isinstance(number, int | float) or not math.isfinite(number):
            raise QuantityError(f"channel {channel} is no number", where=where, mend=example)
        out[channel] = float(number)
    missing = [channel for channel in channels if channel not in out]
    if missing:
        raise MissingKeyError(f"channel {', '.join(missing)} is not given", where=where, mend=example)
    if channels == _LAB and not 0 <= out["L"] <= 100:
        raise QuantityError("L lies outside 0 to 100", where=where, mend=example)
    return {channel: out[channel] for channel in channels}


def read_steps(value: Any, where: str) -> dict[str, dict[str, float]]:
    """Read ``{"paper": {"L": 94, "a": 1, "b": -4}, "black-1": {...}, ...}``."""
    example = 'Write for example {"paper": {"L": 94, "a": 1, "b": -4}, "black-1": {"L": 20, "a": 0, "b": 1}}'
    if not isinstance(value, Mapping) or len(value) < 2 or "paper" not in value:
        raise QuantityError("this is to be the card's paper and its steps by name", where=where, mend=example)
    return {str(name): read_channels(lab, _LAB, f"{where} {name}") for name, lab in value.items()}


def read_channel_sd(sd: Any, channels: tuple[str, ...], where: str) -> float | dict[str, float]:
    """Read one standard deviation for all channels, or one for each."""
    if isinstance(sd, Mapping):
        each = read_channels(sd, channels, where)
        if min(each.values()) <= 0:
            raise QuantityError("an sd is not more than nothing", where=where)
        return each
    if isinstance(sd, bool) or not isinstance(sd, int | float) or not math.isfinite(sd) or sd <= 0:
        raise QuantityError("the sd is no number above nothing", where=where, mend="Write for example 0.03")
    return float(sd)


def channel_sd(reading: Reading) -> dict[str, float]:
    """Return one standard deviation a channel of a reading of densities or Lab.

    As given by the maker; else what the instrument of ``with`` is worth; else
    what a photograph without a card is worth.
    """
    if not isinstance(reading.value, dict):
        raise InkhornError(f"a reading of {reading.what} has no channels", where=reading.of)
    if isinstance(reading.sd, dict):
        return dict(reading.sd)
    if isinstance(reading.sd, int | float):
        return dict.fromkeys(reading.value, float(reading.sd))
    book = measures()
    dimension = "density" if set(reading.value) == set(_RGB) else "lab"
    precision = book.instruments.get(reading.with_ or "", {}).get(dimension)
    precision = precision or book.instruments[book.usual[dimension]][dimension]
    return dict.fromkeys(reading.value, precision.absolute)
