"""How a stroke will look, in words; and what a maker says of the time, made ready."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime, time, timedelta
from typing import Any

from inkhorn.counsel.plain import steps_words
from inkhorn.daybook.inventory import Inventory
from inkhorn.daybook.measures import measures
from inkhorn.daybook.names import said
from inkhorn.errors import EstimateError
from inkhorn.estimate import later
from inkhorn.estimate.posterior import Posterior
from inkhorn.quantities import read_quantity
from inkhorn.report import lines, words

#: What is told of a stroke made now where nobody asks for a time.
USUAL: tuple[float | None, ...] = (later.HOUR, later.DAY, None)
DRY = "dry"


def predict(
    post: Posterior, things: Inventory, thing: str, after: float | str | None, at: datetime | None
) -> later.Prediction:
    """Return how a stroke of a vessel, or a trial, will look.

    Parameters
    ----------
    thing : str
        ``vessel:pot``, ``trial:t3``, or the bare name where only one has it.
    after : float, str or None
        Seconds after the stroke is made, ``"dry"``, or words for a time (``"2 h"``).
    at : datetime or None
        For a trial the moment that counts as now; the end of the daybook if left out.
    """
    sort, name = which(things, thing)
    times = () if after is None else (seconds(after),)
    if sort == "vessel":
        return later.of_vessel(post, name, times or USUAL)
    return later.of_trial(post, name, times, at)


def which(things: Inventory, thing: str) -> tuple[str, str]:
    """Return what sort of thing a name is, and the name."""
    sort, _, name = thing.rpartition(":")
    found = [s for s in ("vessel", "trial") if sort in ("", s) and name in things.of(s)]
    if len(found) == 1:
        return found[0], name
    if found:
        raise EstimateError(f"{name} is both a vessel and a trial", mend=f"Say vessel:{name} or trial:{name}")
    known = ", ".join([*things.vessels, *things.trials]) or "none yet"
    raise EstimateError(f"there is no vessel or trial {name!r}", mend=f"Known: {known}")


def seconds(after: float | str) -> float | None:
    """Return a time as seconds, None for dry."""
    if after == DRY:
        return None
    if isinstance(after, str):
        return read_quantity(after, expect=("time",), measures=measures(), where="--in").value
    if not after >= 0:
        raise EstimateError(f"{after} is no time after a stroke", mend="Give seconds, not below 0")
    return float(after)


def moment(text: str) -> datetime:
    """Return a moment as it is written in entries."""
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise EstimateError(
            f"{text!r} is no moment", where="--at", mend='Write it as "2026-09-14T10:00"'
        ) from None


def sentences(answer: Mapping[str, Any]) -> list[str]:
    """Return what is foreseen, a sentence each."""
    sort, _, name = str(answer["of"]).partition(":")
    course = answer["course"]
    head = f"A stroke made now with the ink of the {said(name)}" if sort == "vessel" else f"{said(name)}"
    out = [f"{head}, {_when(m, course)}: {_look(m, answer['ess'])}" for m in answer["moments"]]
    return out if course is None else [*out, *_course(course, name)]


def _when(item: Mapping[str, Any], course: Mapping[str, Any] | None) -> str:
    if item["after"] == DRY:
        return "dry"
    if course is not None and item["after"] == course["age"]:
        return f"as it is ({length(item['after'])} old)"
    return f"after {length(item['after'])}"


def _look(item: Mapping[str, Any], ess: float) -> str:
    density = ", ".join(f"{c} {_brief(words.phrase(f, ess))}" for c, f in item["optical_density"].items())
    light = words.phrase(item["lab"]["L"], ess)
    left = float(item["left"]["p95"])
    change = f" Still to come: {steps_words(float(item['left']['median']))}." if left >= 1 else ""
    return f"density {density}; lightness {light}.{change}"


def _brief(phrase: str) -> str:
    """Return ``about 0.7, surely between 0.6 and 0.8`` as ``0.7 (0.6 to 0.8)``."""
    middle, _, ends = phrase.partition(", surely between ")
    return middle.removeprefix("about ") + (f" ({ends.replace(' and ', ' to ')})" if ends else "")


def _course(course: Mapping[str, Any], name: str) -> list[str]:
    chance = words.chance(course["finished"])
    again = course["look_again_at"]
    when = ""
    if again:
        when = f" Look again about {length(course['look_again'])} after it was made, {_about_when(course)}."
    if course["state"] == "finished":
        return [f"{said(name)} has finished darkening ({chance})."]
    if course["state"] == "darkening":
        return [f"{said(name)} is still darkening (finished: {chance}).{when}"]
    early = "was looked at too early to tell where it ends: what was seen fits a stroke that is nearly done"
    return [f"{said(name)} {early}, and one that goes on darkening.{when}"]


def _about_when(course: Mapping[str, Any]) -> str:
    """Return when to look again, no more exactly than anybody would."""
    at = datetime.fromisoformat(course["look_again_at"])
    step = timedelta(minutes=10) if course["look_again"] < 6 * 3600 else timedelta(hours=1)
    start = datetime.combine(at.date(), time(), at.tzinfo)
    return lines.when({"at": (start + math.ceil((at - start) / step) * step).isoformat()})


def length(span: float) -> str:
    """Return a length of time in round words.

    >>> [length(t) for t in (40, 600, 5400, 97200, 1e7)]
    ['40 seconds', '10 minutes', '1.5 hours', '27 hours', '116 days']
    """
    for size, name, least in ((86400, "days", 2 * 86400), (3600, "hours", 3600), (60, "minutes", 60)):
        if span >= least:
            amount = span / size
            text = f"{amount:.1f}".removesuffix(".0") if amount < 10 else f"{amount:.0f}"
            return f"{text} {name}".replace("1 days", "1 day") if text != "1" else f"1 {name[:-1]}"
    return f"{span:.0f} seconds"
