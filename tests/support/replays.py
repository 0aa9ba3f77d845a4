"""Short replays for tests: everything at its median, or many draws of the prior."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from inkhorn.replay.draws import Draws, standard_normal
from inkhorn.replay.fold import make_plan, play
from inkhorn.replay.world import World
from support.daybooks import recorded


def medians() -> Draws:
    """Return one draw with every unknown at its median."""
    return Draws({}, np.zeros((0, 1)))


def dated(*steps: tuple[float, dict[str, Any]]) -> list[dict[str, Any]]:
    """Return entries, each that many hours after the one before it (the first, after the start)."""
    at, out = datetime(2026, 9, 1, 8), []  # noqa: DTZ001 - the daybook keeps local times
    for hours, entry in steps:
        at += timedelta(hours=hours)
        out.append({"at": at.isoformat(), **entry})
    return out


def played(entries: Iterable[dict[str, Any]]) -> tuple[World, Draws]:
    """Return the bench at the end of a daybook, at the medians of every unknown."""
    draws = medians()
    return play(make_plan(recorded(entries)), draws).world, draws


def drawn(entries: Iterable[dict[str, Any]], n: int = 400, seed: int = 4) -> tuple[World, Draws]:
    """Return the bench at the end of a daybook for draws of the prior."""
    plan = make_plan(recorded(entries))
    z = np.array([standard_normal(seed, name, n) for name in plan.unknowns]).reshape(-1, n)
    draws = Draws(plan.unknowns, z)
    return play(plan, draws).world, draws
