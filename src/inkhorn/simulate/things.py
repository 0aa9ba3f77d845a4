"""What stands on the bench of the invented truth: lots, vessels, marc, skins, pens, trials."""

from __future__ import annotations

import re
from datetime import datetime

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import UnknownNameError
from inkhorn.handbook.load import group
from inkhorn.simulate.liquor import Liquor


@attrs.define(kw_only=True)
class Lot:
    """A raw material as it truly is: grams left, and what a gram of it holds."""

    material: str
    role: str
    mass: float
    at_first: float
    holds: dict[str, float]
    pieces: str = "crushed"
    bulk: float = 0.7
    dry: bool = False


@attrs.define(kw_only=True)
class Marc:
    """Steeped solids: dry grams, and grams of each soluble still in them and once in them.

    ``ready`` is what this draw of liquor could take at the most, ``hours`` how long it has had.
    """

    dry: float
    form: str
    pieces: str
    left: dict[str, float]
    total: dict[str, float]
    ready: dict[str, float] = attrs.field(factory=dict)
    hours: float = 0.0
    held: Liquor | None = None


@attrs.define(kw_only=True)
class Vessel:
    """A vessel: its liquor, marc within, size, cover, clock and how long mould has had."""

    liquor: Liquor = attrs.field(factory=Liquor)
    capacity: float | None = None
    marc: Marc | None = None
    cover: str = "open"
    clock: datetime | None = None
    standing: float = 0.0


@attrs.frozen(kw_only=True)
class Skin:
    """A support: bare reflectance, chalk, sinking and texture key."""

    material: str
    bare: NDArray[np.float64]
    chalk: float
    sink: float
    hair: bool = False
    key: str = ""


@attrs.frozen(kw_only=True)
class Pen:
    """A pen: its cut ("quill", "reed", "metal") and nib width, mm."""

    cut: str
    width: float


@attrs.frozen(kw_only=True)
class Trial:
    """Marks made at a moment: the ink as it was, where, with what."""

    ink: Liquor
    support: str
    method: str
    pen: str | None
    at: datetime
    film: float
    viscosity: float


def plain(text: str) -> str:
    """Return a name in lower case, with blanks for hyphens and without a plural s."""
    return re.sub(r"\s+", " ", re.sub(r"[-_]", " ", text.lower())).strip().removesuffix("s")


def resolve(text: str, table: str) -> str | None:
    """Return the handbook key that a name means in a table (materials, liquids, supports, pens), or None."""
    want = plain(text)
    for key, node in group(table).items():
        if isinstance(node, dict) and want in {plain(key), *(plain(x) for x in node.get("names", ()))}:
            return key
    return None


def known(text: str, table: str) -> str:
    """Return the handbook key, also for a name with a number or width at its end; else raise."""
    tries = (text, re.sub(r"[-_ ]*\d.*$", "", text), re.sub(r"[-_ ].*$", "", text))
    for attempt in tries:
        if attempt and (key := resolve(attempt, table)):
            return key
    raise UnknownNameError(f"the invented truth knows no {text!r} among the {table}", where="simulate")


def nib_width(name: str) -> float | None:
    """Return the width in mm that a pen's name carries (``reed-3mm``), if any."""
    found = re.search(r"([\d.]+)\s*mm", name)
    return float(found[1]) if found else None
