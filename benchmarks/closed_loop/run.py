"""Play workshops with players, on several cores, and keep each game as a line of JSON as it ends."""

from __future__ import annotations

import json
import time
import traceback
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any, Protocol

import attrs
from benchmarks.closed_loop.game import Game, Standard
from benchmarks.closed_loop.inkhorn_player import Inkhorn, WithoutMisfit
from benchmarks.closed_loop.omniscient import Measured, Omniscient, best_plan
from benchmarks.closed_loop.on_cups import Chance
from benchmarks.closed_loop.rule_of_thumb import RuleOfThumb
from benchmarks.closed_loop.standard_ink import StandardInk

from inkhorn.simulate.deal import deal

Record = dict[str, Any]


class Player(Protocol):
    """Anybody at the bench."""

    def play_round(self) -> None:
        """Do, write and look once."""


try:
    from benchmarks.closed_loop.optimisers import Gaussian, Trees
except ImportError:  # without the extra `bench` the others still play
    GENERAL: Mapping[str, tuple[Callable[[Game, int], Any], int]] = {}
else:
    GENERAL = {"gp": (Gaussian, 60), "tpe": (Trees, 60)}

#: Each player, and the most trials it may make.
PLAYERS: Mapping[str, tuple[Callable[[Game, int], Player], int]] = {
    "inkhorn": (Inkhorn, 12),
    "omniscient": (Omniscient, 12),
    "measured": (Measured, 12),
    "rule": (RuleOfThumb, 60),
    **GENERAL,
    "standard": (StandardInk, 2),
    "chance": (Chance, 60),
    "without-misfit": (WithoutMisfit, 12),
}
#: Not a player: whether exact hands that know everything could match at all.
REACH = "reach"


def play(seed: int, who: str, cap: int | None = None) -> Record:
    """Play one game, or look whether it could be won; a crash is a record too."""
    start = time.perf_counter()
    dealt = deal(seed)
    facts = {k: getattr(dealt, k) for k in ("seed", "kind", "iron", "plant", "gum", "variant", "pen")}
    record: Record = {"player": who, **facts, "error": ""}
    player: Any = None
    if who == REACH:
        best, _ = best_plan(Game(dealt=dealt), seed)
        return record | {"reachable": best.match, "best": best.distance, "seconds": _since(start)}
    make, most = PLAYERS[who]
    game = Game(dealt=dealt, standard=Standard(cap=cap or most))
    try:
        if not game.over:
            player = make(game, seed)
        while not game.over:
            player.play_round()
    except Exception:  # noqa: BLE001 - any failure of a player is a finding
        record["error"] = traceback.format_exc(limit=-6)
    finally:
        if hasattr(player, "close"):
            player.close()
    return record | {
        "trials": len(game.turns),
        "matched": game.turns[-1].match,
        "said_unreachable": game.said_unreachable,
        "gave_up": game.gave_up,
        # Whatever the colour and the flow: what a stroke within a match would have broken.
        "breach": any(
            t.distance <= game.standard.match and t.iron_ratio > game.standard.iron for t in game.turns
        ),
        "turns": [attrs.asdict(t) for t in game.turns],
        **game.ledger(),
        "log": getattr(player, "log", []),
        "seconds": _since(start),
    }


def _since(start: float) -> float:
    return round(time.perf_counter() - start, 2)


def kept(path: Path) -> list[Record]:
    """Return the games kept in a file."""
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text("utf-8").splitlines() if line.strip()]


def play_all(
    seeds: Iterable[int], players: Iterable[str], path: Path, *, jobs: int, cap: int | None = None
) -> Iterator[Record]:
    """Play what is not kept yet; append each game to the file as it ends, and yield it."""
    done = {(r["seed"], r["player"]) for r in kept(path)}
    players = list(players)
    todo = [(s, p) for s in seeds for p in players if (s, p) not in done]
    path.parent.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(max_workers=jobs) as pool:
        waiting = {pool.submit(play, seed, who, cap): (seed, who) for seed, who in todo}
        for future in as_completed(waiting):
            record = future.result()
            with path.open("a", encoding="utf-8") as out:
                out.write(json.dumps(record) + "\n")
            yield record
