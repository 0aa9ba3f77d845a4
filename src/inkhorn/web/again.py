"""One tap for what is done again and again: the steps that this maker repeats, as they were last done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from inkhorn.daybook.book import Recorded
from inkhorn.report import lines
from inkhorn.web.cups import pot_of
from inkhorn.web.fields import Bench
from inkhorn.web.forms import next_trial

_REPEATED = frozenset({"add", "pour", "reduce", "mark", "rest", "skim", "warm", "discard"})
_OWN = frozenset({"at", "number", "trial", "picture", "note"})
_LAST = 60  # how far back a habit is looked for
_TILES = 3


@attrs.frozen(kw_only=True)
class Again:
    """A step that can be said again with one tap: the entry it repeats, and what it says."""

    number: int
    sentence: str


def tiles(standing: Sequence[Recorded], bench: Bench) -> tuple[Again, ...]:
    """Return what is repeated most, of the last steps, and the last mark: every round ends with one.

    Where nothing was done twice and no mark made, the last step.
    """
    seen: dict[str, list[Recorded]] = {}
    for line in standing[-_LAST:]:
        if line.kind in _REPEATED and line.amended_by is None:
            seen.setdefault(_same(line.raw), []).append(line)
    habits = [found for found in seen.values() if len(found) > 1]
    best = sorted(habits, key=lambda found: (-len(found), -found[-1].number))[:_TILES]
    marks = [found for found in seen.values() if found[-1].kind == "mark"]
    if marks and not any(found[-1].kind == "mark" for found in best):
        newest = max(marks, key=lambda found: found[-1].number)
        best = [*best[: _TILES - 1], newest]
    best = best or list(seen.values())[-1:]
    return tuple(
        Again(number=found[-1].number, sentence=lines.sentence(repeated(found[-1].raw, bench)))
        for found in best
    )


def repeated(raw: Mapping[str, Any], bench: Bench) -> dict[str, Any]:
    """Return an entry to be said again: without its date, a mark under the next free name.

    A mark is made with what is in hand now where that is a cup of the pot, or the pot of the cup.
    """
    out = {key: value for key, value in raw.items() if key not in _OWN}
    if raw.get("kind") == "mark":
        out["trial"] = next_trial(bench.trials)
        if pot_of(str(raw.get("vessel")), bench.cups) == pot_of(bench.vessel, bench.cups):
            out["vessel"] = bench.vessel
    return out


def _same(raw: Mapping[str, Any]) -> str:
    return repr(sorted((key, str(value)) for key, value in raw.items() if key not in _OWN | {"who"}))
