"""Run: ``python -m benchmarks.closed_loop [FIRST LAST] [--players ...] [--without-misfit] [--jobs 2]``.

Games already kept are not played again; delete the file of results to begin anew.
"""

from __future__ import annotations

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import argparse  # noqa: E402
from collections.abc import Iterable, Sequence  # noqa: E402
from pathlib import Path  # noqa: E402

from benchmarks.closed_loop.figure import draw  # noqa: E402
from benchmarks.closed_loop.run import PLAYERS, REACH, Record, kept, play_all  # noqa: E402
from benchmarks.closed_loop.table import reach, tables  # noqa: E402

RESULTS = Path(os.environ.get("INKHORN_RESULTS", Path.home() / ".cache" / "inkhorn-benchmarks"))
USUAL = ("inkhorn", "omniscient", "measured", "rule", "gp", "tpe", "standard")


def main() -> None:
    """Play, then print."""
    asks = argparse.ArgumentParser(prog="python -m benchmarks.closed_loop", description=__doc__)
    asks.add_argument("seeds", nargs="*", type=int, metavar="FIRST LAST", help="seeds; 0 100 if left out")
    asks.add_argument("--players", nargs="+", choices=list(PLAYERS), default=list(USUAL))
    asks.add_argument(
        "--without-misfit", action="store_true", help="also with the misfit term set to nothing"
    )
    asks.add_argument("--cap", type=int, help="most trials of every player (12 with counsel, 60 else)")
    asks.add_argument("--reachable", action="store_true", help="play only workshops that can be matched")
    asks.add_argument("--jobs", type=int, default=2)
    asks.add_argument("--results", type=Path, default=RESULTS / "closed-loop.jsonl")
    asks.add_argument("--no-play", action="store_true", help="only print what is kept")
    asks.add_argument("--figure", action="store_true", help="draw docs/measured/closed-loop.svg")
    told = asks.parse_args()
    first, last = (told.seeds or [0, 100])[:2]
    players = [*told.players, *(["without-misfit"] if told.without_misfit else [])]
    seeds = range(first, last)

    def play(seeds: Iterable[int], players: Sequence[str]) -> None:
        for record in play_all(seeds, players, told.results, jobs=told.jobs, cap=told.cap):
            print(_line(record), flush=True)

    if not told.no_play and told.reachable:
        play(seeds, [REACH])
        can = reach(kept(told.results))
        play([s for s in seeds if can[s]], players)
    elif not told.no_play:
        play(seeds, [REACH, *players])
    players.append(REACH)
    games = [r for r in kept(told.results) if first <= r["seed"] < last and r["player"] in players]
    print(tables(games))
    if told.figure:
        print(draw(games))


def _line(record: Record) -> str:
    who = f"{record['seed']:4d} {record['player']:15} {record['kind']:11} {record['iron']:9}"
    if record["player"] == REACH:
        return f"{who} {'can' if record['reachable'] else 'cannot'} be matched ({record['best']:.1f})"
    how = "matched" if record["matched"] else "said unreachable" if record["said_unreachable"] else "no match"
    return f"{who} {how} after {record['trials']}" + (" CRASH" if record["error"] else "")


if __name__ == "__main__":
    main()
