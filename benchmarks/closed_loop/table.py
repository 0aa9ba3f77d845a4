"""What the games say: a table a player, a table by kind, and the goals."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

Record = dict[str, Any]
WITHIN = (1, 2, 3, 5, 8)
GENERAL = ("gp", "tpe")
ORDER = ("inkhorn", "without-misfit", "omniscient", "measured", "rule", "gp", "tpe", "standard", "chance")


def by_player(records: Sequence[Record]) -> dict[str, list[Record]]:
    """Return the games of each player, the tables' order first."""
    found: dict[str, list[Record]] = defaultdict(list)
    for record in records:
        found[record["player"]].append(record)
    return {name: found[name] for name in ORDER if name in found}


def reach(records: Sequence[Record]) -> dict[int, bool]:
    """Return for each seed whether exact hands that know everything can match."""
    return {r["seed"]: r["reachable"] for r in records if r["player"] == "reach"}


def share_within(games: Sequence[Record], trials: int) -> float:
    """Return the share of games matched within so many trials, the first (before any counsel) counted."""
    return float(np.mean([g["matched"] and g["trials"] <= trials for g in games])) if games else np.nan


def median_trials(games: Sequence[Record]) -> float:
    """Return the median of trials to a match; a game without one counts as endless."""
    return float(np.median([g["trials"] if g["matched"] else np.inf for g in games])) if games else np.nan


def _median(games: Sequence[Record], what: str) -> float:
    return float(np.median([g[what] for g in games])) if games else np.nan


def tables(records: Sequence[Record]) -> str:
    """Return everything as text."""
    can, players = reach(records), by_player(records)
    seeds = {s for s, ok in can.items() if ok}
    out = [
        f"{len(can)} workshops looked at, {len(seeds)} can be matched by exact hands that know everything",
        "",
    ]
    out += _main(players, seeds)
    out += ["", *_unreachable(players, can)]
    for sort in ("kind", "iron", "variant"):
        out += ["", *_by(players, seeds, sort)]
    out += ["", *goals(players, seeds)]
    crashes = [r for r in records if r.get("error")]
    out += [f"crash: seed {r['seed']} {r['player']}: {r['error'].strip().splitlines()[-1]}" for r in crashes]
    return "\n".join(out)


def _main(players: Mapping[str, list[Record]], seeds: set[int]) -> list[str]:
    head = f"{'player':16}{'n':>4}" + "".join(f"{f'<={k}':>7}" for k in WITHIN)
    head += f"{'ever':>7}{'median':>8}{'ml sp.':>8}{'g sp.':>7}{'g taken':>8}{'hours':>7}{'breach':>7}{'crash':>6}{'s':>7}"
    out = ["of the workshops that can be matched:", head]
    for name, every in players.items():
        games = [g for g in every if g["seed"] in seeds]
        if not games:
            continue
        line = f"{name:16}{len(games):4d}" + "".join(f"{share_within(games, k):7.0%}" for k in WITHIN)
        won = [g for g in games if g["matched"]]
        line += f"{np.mean([g['matched'] for g in games]):7.0%}{median_trials(games):8.1f}"
        line += f"{_median(games, 'ml_spoiled'):8.1f}{_median(games, 'g_spoiled'):7.2f}{_median(games, 'g_taken'):8.1f}"
        line += f"{_median(won, 'hours'):7.0f}{sum(g['breach'] for g in games):7d}"
        line += f"{sum(bool(g['error']) for g in games):6d}{_median(games, 'seconds'):7.1f}"
        out.append(line)
    return out


def _unreachable(players: Mapping[str, list[Record]], can: Mapping[int, bool]) -> list[str]:
    out = [f"{'said cannot be reached':24}{'right':>7}{'wrong':>7}{'missed':>8}{'trials when right':>19}"]
    for name, games in players.items():
        said = [g for g in games if g["said_unreachable"] and g["seed"] in can]
        right = [g for g in said if not can[g["seed"]]]
        missed = [g for g in games if not can.get(g["seed"], True) and not g["said_unreachable"]]
        if said:
            at = _median(right, "trials")
            out.append(f"{name:24}{len(right):7d}{len(said) - len(right):7d}{len(missed):8d}{at:19.1f}")
    return out


def _by(players: Mapping[str, list[Record]], seeds: set[int], sort: str) -> list[str]:
    values = sorted({str(g[sort]) for games in players.values() for g in games})
    shown = [p for p in players if p != "standard"]
    out = [f"matched within 3 and 5, by {sort:12}" + "".join(f"{p[:14]:>16}" for p in shown)]
    for what in values:
        line = f"{what:39}"
        for name in shown:
            games = [g for g in players[name] if g[sort] == what and g["seed"] in seeds]
            cell = (
                f"{share_within(games, 3):.0%} {share_within(games, 5):.0%} ({len(games)})" if games else "-"
            )
            line += f"{cell:>16}"
        out.append(line)
    return out


def goals(players: Mapping[str, list[Record]], seeds: set[int]) -> list[str]:
    """Return the lines that say whether each goal is met."""

    def of(name: str) -> list[Record]:
        return [g for g in players.get(name, []) if g["seed"] in seeds]

    mine, best = of("inkhorn"), of("omniscient")
    general = {n: of(n) for n in GENERAL if of(n)}
    out = ["goals:"]
    if mine:
        for trials, goal in ((3, 0.70), (5, 0.85)):
            got = share_within(mine, trials)
            out.append(_goal(f"matched within {trials}: {got:.0%}, goal {goal:.0%}", got >= goal))
            if best:
                ratio = got / max(share_within(best, trials), 1e-9)
                out.append(_goal(f"  of the omniscient player's: {ratio:.2f}, goal 0.90", ratio >= 0.9))
    if mine and general:
        rival = min(general, key=lambda n: (median_trials(general[n]), n))
        theirs, ours = median_trials(general[rival]), median_trials(mine)
        ratio = ours / theirs if np.isfinite(ours) else np.inf
        out.append(
            _goal(f"median trials {ours:g} against {theirs:g} of {rival}, goal a third", ratio <= 1 / 3)
        )
        spoilt, wasted = _median(mine, "g_spoiled"), min(_median(g, "g_spoiled") for g in general.values())
        said = f"solids spoiled {spoilt:.2f} g against {wasted:.2f} g at the best, goal a quarter"
        out.append(_goal(said, spoilt <= wasted / 4))
    return out


def _goal(said: str, met: bool) -> str:
    return f"{'met   ' if met else 'NOT   '}{said}"
