"""What was believed of each unknown before, and what is now: a drawing, as SVG text, without a plotting library.

One row an unknown, most learnt first. The pale band is the 90 % interval of the
prior, the dark one that of the posterior, the tick its median, each row on the
unknown's own scale. 390 units wide, so that it is read on a phone as it is;
bands differ in height and in lightness, so that it prints in grey.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape

from inkhorn.report import knowing, unknowns, words

WIDTH, LEFT, RIGHT = 390, 16, 16
ROW, HEAD, FOOT = 64, 92, 12
MOST = 20
GROUND, INK, SOFT, PALE = "#f8f8f5", "#111312", "#51585a", "#c3cac8"
FONTS = "'Source Sans 3','Noto Sans',Candara,Frutiger,'Segoe UI',Roboto,'Liberation Sans',sans-serif"
#: Letters that go on one line of names at their size; longer names are cut at a word.
_LINE = 54

#: Parts of names of unknowns that are shares of a whole, told in percent.
_SHARES = ("/tannin", "/iron", "/soluble", "/purity", "/gallic", "/moisture", "/reach", "/ferric", "/inert")
_SCALES: Mapping[str, Callable[[float], float]] = {
    "normal": lambda x: x,
    "lognormal": lambda x: math.log(max(x, math.ulp(0.0))),
    "logitnormal": lambda x: math.log(max(x, math.ulp(0.0)) / max(1 - x, math.ulp(1.0))),
}
_UNITS = {
    "um": "µm",
    "m^2": "m²",
    "g/m2": "g/m²",
    "1/s": "per s",
    "mmol/l": "mmol/L",
    "dl/g": "dL/g",
    "d": "days",
}
_FINER = {"m": (1000, "mm"), "s": (1 / 60, "min")}


def draw(answer: Mapping[str, Any], entries: knowing.Entries | None = None) -> str:
    """Return the drawing of the unknowns that learnt something.

    Parameters
    ----------
    answer : mapping
        The JSON form of an estimate.
    entries : mapping, optional
        The daybook's entries as they were written, by number, for the names of amounts.
    """
    items = list(answer.get("learnt", ()))[:MOST]
    height = HEAD + ROW * max(len(items), 1) + FOOT
    names = [unknowns.plain(item["unknown"], entries) for item in items]
    title = "What the readings taught: before and after"
    rows = "".join(
        _row(HEAD + ROW * i, name, item, answer.get("ess"))
        for i, (name, item) in enumerate(zip(names, items, strict=True))
    )
    if not items:
        rows = _text(LEFT, HEAD + 20, "Nothing that you noticed has taught anything yet.", size=15)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        f'role="img" aria-labelledby="learnt-title learnt-desc" font-family="{FONTS}">\n'
        f'<title id="learnt-title">{escape(title)}</title>\n'
        f'<desc id="learnt-desc">{escape(_described(names, items, answer.get("ess")))}</desc>\n'
        f'<rect width="{WIDTH}" height="{height}" fill="{GROUND}"/>\n'
        f"{_key()}{rows}</svg>\n"
    )


def _key() -> str:
    """Draw the heading, and what the two bands stand for, beside bands like those below."""
    head = _text(LEFT, 28, "What the readings taught", size=18)
    before = _bar(LEFT, 50, 44, PALE, 12) + _text(LEFT + 52, 55, "before", size=13, soft=True)
    after = (
        _bar(LEFT + 120, 50, 44, INK, 6)
        + _tick(LEFT + 142, 50)
        + _text(LEFT + 172, 55, "now, and its middle", size=13, soft=True)
    )
    return head + before + after + _text(LEFT, 75, "Each band holds nine times in ten.", size=13, soft=True)


def _row(top: float, name: str, item: Mapping[str, Any], ess: float | None) -> str:
    scale = _SCALES[item["shape"]]
    prior, now = item["prior"], item["posterior"]
    places = {key: scale(float(prior[key])) for key in ("p05", "p95")}
    after = {key: scale(float(now[key])) for key in ("p05", "median", "p95")}
    low, high = min(places["p05"], after["p05"]), max(places["p95"], after["p95"])
    width = (WIDTH - LEFT - RIGHT) / ((high - low) or 1.0)

    def at(place: float) -> float:
        return LEFT + (place - low) * width

    line = top + 41
    title = _text(LEFT, top + 12, _short(name), size=14)
    bands = _bar(at(places["p05"]), line, at(places["p95"]) - at(places["p05"]), PALE, 12)
    bands += _bar(at(after["p05"]), line, max(at(after["p95"]) - at(after["p05"]), 2.0), INK, 6)
    said = _text(LEFT, top + 27, _numbers(item, ess), size=12, soft=True)
    return title + said + bands + _tick(at(after["median"]), line)


def _numbers(item: Mapping[str, Any], ess: float | None) -> str:
    """Return the medians and ranges of a row in words and in its unit."""
    times, unit = _spoken(item)
    before = words.phrase(_scaled(item["prior"], times, ""), None)
    now = words.phrase(_scaled(item["posterior"], times, ""), ess)
    return f"{_brief(now)}{f' {unit}' if unit else ''} (before: {_brief(before)})"


def _brief(phrase: str) -> str:
    return (
        phrase.replace("about ", "")
        .replace(", surely between ", ", ")
        .replace(" and ", " to ")
        .replace("-", "−")
    )


def _scaled(figure: Mapping[str, Any], times: float, unit: str) -> dict[str, Any]:
    return {k: times * float(v) for k, v in figure.items() if k != "unit"} | {"unit": unit}


def _spoken(item: Mapping[str, Any]) -> tuple[float, str]:
    """Return what the numbers of an unknown are multiplied by to be said, and in which unit."""
    unit = str(item["prior"]["unit"])
    if unit == "1" and (item["shape"] == "logitnormal" or item["unknown"].endswith(_SHARES)):
        return 100.0, "%"
    if unit in _FINER:
        return _FINER[unit]
    if unit == "1":
        return 1.0, "" if item["shape"] == "normal" else "times"
    return 1.0, _UNITS.get(unit, words.spoken(unit))


def _described(names: Sequence[str], items: Sequence[Mapping[str, Any]], ess: float | None) -> str:
    if not items:
        return "Nothing that you noticed has taught anything yet."
    told = [
        f"{name}: {_numbers(item, ess)}; {knowing.bits(item['bits'])}"
        for name, item in zip(names, items, strict=True)
    ]
    return (
        "One row an unknown, most learnt first; middle, then range, now and before. " + ". ".join(told) + "."
    )


def _short(name: str) -> str:
    text = f"{name[0].upper()}{name[1:]}"
    if len(text) <= _LINE:
        return text
    return text[: text.rindex(" ", 0, _LINE)] + " …"


def _bar(x: float, middle: float, width: float, fill: str, height: float) -> str:
    return (
        f'<rect x="{x:.1f}" y="{middle - height / 2:.1f}" width="{width:.1f}" height="{height:g}" '
        f'rx="1" fill="{fill}"/>\n'
    )


def _tick(x: float, middle: float) -> str:
    """Draw the median: a light tick that stands out of the dark band at both sides."""
    return (
        f'<path d="M{x:.1f} {middle - 9:.1f}V{middle + 9:.1f}" stroke="{GROUND}" stroke-width="4"/>'
        f'<path d="M{x:.1f} {middle - 9:.1f}V{middle + 9:.1f}" stroke="{INK}" stroke-width="1.6"/>\n'
    )


def _text(x: float, y: float, said: str, *, size: int, soft: bool = False) -> str:
    fill = SOFT if soft else INK
    return f'<text x="{x:g}" y="{y:g}" font-size="{size}" fill="{fill}">{escape(said)}</text>\n'
