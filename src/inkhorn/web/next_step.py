"""What comes next: after each thing that was recorded, the step of the trade that mostly follows it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.inventory import Inventory
from inkhorn.daybook.names import said
from inkhorn.handbook.load import group
from inkhorn.web.cups import is_saucer, untried
from inkhorn.web.standing import Standing

_SOAK = ("Soak something", "/?do=steep#do")
_STRAIN = ("Strain it", "/?do=strain#do")
_BOIL = ("Boil it down", "/?do=reduce#do")
_ADD = ("Add something", "/?do=add#do")
_MARK = ("Make a mark", "/?do=mark#do")
_PAGE = ("Show the page", "/?do=exemplar#do")


@attrs.frozen(kw_only=True)
class Next:
    """A sentence, and the forms that it speaks of: what is pressed, and where it leads."""

    text: str
    ways: tuple[tuple[str, str], ...] = ()


def after(number: int, now: Standing) -> Next | None:
    """Return what mostly follows an entry, or nothing where that is anybody's guess."""
    line = next((one for one in now.standing if one.number == number), None)
    if line is None:
        return None
    return _of_cups(line, now) or _of_steps(line, now) or _of_marks(line, now)


def _of_cups(line: Recorded, now: Standing) -> Next | None:
    """Return what follows what was tried on a cup: a line with each that waits for one, and what that is for."""
    cups = now.bench.cups
    vessel = next((str(line.raw[key]) for key in ("into", "vessel") if line.raw.get(key) in cups), "")
    if not vessel or line.kind == "mark":
        return None
    if is_saucer(vessel):
        text = (
            "Write a line with it beside your last one and let it dry. Then say which of the two is darker."
        )
        return Next(
            text=text, ways=((f"Make a mark with {said(vessel)}", f"/?do=mark&vessel={quote(vessel)}#do"),)
        )
    if not (left := untried(cups[vessel], now.bench)):
        return None
    whole = f"the whole of the {said(cups[vessel])}"
    if len(left) > 1:
        text = f"Write a line with each, let them dry and photograph them. What comes nearest to the page is then done with {whole}."
    else:
        text = f"Write a line with it and let it dry. If that is nearer to the page, do the same with {whole}; if not, nothing is lost."
    ways = tuple((f"Make a mark with {said(cup)}", f"/?do=mark&vessel={quote(cup)}#do") for cup in left)
    return Next(text=text, ways=ways)


def _of_steps(line: Recorded, now: Standing) -> Next | None:
    kind, things = line.kind, now.things
    if kind == "gather":
        if _role(things, line.raw.get("lot")) == "tannin":
            return Next(text="Next you soak it in water, for a day or so.", ways=(_SOAK,))
        if not now.bench.vessels:
            return Next(text="Keep it at hand. The bark, leaf or galls are soaked first.", ways=(_SOAK,))
        return Next(
            text="It goes into the pot when the liquor is strained and as strong as you like it.",
            ways=(_ADD,),
        )
    if kind == "steep":
        return Next(text="When it has soaked, strain it.", ways=(_STRAIN,))
    if kind in {"strain", "bring"}:
        return Next(
            text="Boil it down if it is thin. Then it wants iron, and a little gum.", ways=(_BOIL, _ADD)
        )
    if kind in {"reduce", "add", "pour", "warm"}:
        return _seasoned(now)
    return None


def _seasoned(now: Standing) -> Next:
    """Return what a pot still wants: iron, gum, or a mark to see what it writes like."""
    into = {_role(now.things, line.raw.get("lot")) for line in now.standing if line.kind == "add"}
    into |= {"iron salt"} if any(line.kind in {"weather", "neutralise"} for line in now.standing) else set()
    if "iron salt" not in into and not any(line.kind == "bring" for line in now.standing):
        return Next(text="It wants iron now: vitriol, a little at a time.", ways=(_ADD,))
    if "gum" not in into and not now.bench.trials:
        return Next(text="A little gum makes it cling to the pen. Then make a mark.", ways=(_ADD, _MARK))
    again = " again" if now.bench.trials else ""
    return Next(text=f"Make a mark with it{again}, to see what it writes like now.", ways=(_MARK,))


def _of_marks(line: Recorded, now: Standing) -> Next | None:
    sort = str(line.raw.get("of", "")).partition(":")[0]
    if line.kind == "mark":
        trial = str(line.raw.get("trial", ""))
        way = (f"Photograph {said(trial)}", f"/?do=photo&trial={quote(trial)}#do")
        return Next(text="Let it dry and darken for a day, then photograph it.", ways=(way,))
    if sort == "exemplar" and not now.bench.vessels:
        return Next(
            text="Next, say what goes into your pot.", ways=(("Gather or buy", "/?do=gather#do"), _SOAK)
        )
    if sort == "trial" and line.raw.get("what") == "photo" and not now.bench.exemplars:
        return Next(text="Show the page that it is to match, and the counsel begins.", ways=(_PAGE,))
    if line.kind == "reading" and now.bench.exemplars and now.bench.vessels:
        return Next(text="The counsel is weighed anew with it.", ways=(("See the counsel", "/#now"),))
    return None


def _role(things: Inventory, lot: Any) -> str:
    """Return what a lot is for (tannin, iron salt, gum), or nothing where its material is not known."""
    thing = things.lots.get(str(lot))
    known: Mapping[str, Any] = group("materials").get((thing and thing.material) or "", {})
    return str(known.get("role", ""))
