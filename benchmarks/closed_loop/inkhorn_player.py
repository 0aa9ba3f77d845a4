"""Inkhorn at the bench: records everything in a workshop of its own, asks for counsel, and does as told."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

from benchmarks.closed_loop.game import Game
from benchmarks.closed_loop.no_misfit import without_misfit

from inkhorn.counsel.result import Counsel, Course
from inkhorn.handbook.load import value
from inkhorn.workshop import Workshop


def says_unreachable(counsel: Counsel) -> bool:
    """Tell whether counsel gives the page hardly any chance to be reached with what is on the bench."""
    return counsel.reachable < value("counsel.unreachable")


def _first(counsel: Counsel) -> tuple[Course | None, list[dict[str, Any]]]:
    """Return the first course and what is done of it: on a cup first, where it cannot be taken back."""
    if not counsel.courses:
        return None, []
    course = counsel.courses[0]
    return course, [dict(a) for a in course.cup or course.actions]


class Inkhorn:
    """Follow the first course; take the first check, once a round, before acting.

    It stops when counsel has said so many rounds running (``patience``) that the page cannot be reached.
    """

    name = "inkhorn"
    patience = 3

    def __init__(self, game: Game, seed: int = 0) -> None:
        self.game, self.seed = game, seed
        self.folder = Path(tempfile.mkdtemp(prefix="inkhorn-loop-"))
        self.shop = Workshop.create(self.folder / "shop")
        self.written = self.hopeless = 0
        self.pot = game.dealt.pot
        # Left open for weeks of trials it would dry up.
        game.act([{"kind": "store", "vessel": self.pot, "how": "stoppered jar"}])
        self.log: list[dict[str, Any]] = []

    def close(self) -> None:
        """Let go of the workshop and its folder."""
        self.shop.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def play_round(self) -> None:
        """Record, ask, perhaps check and ask again, act, write."""
        game = self.game
        counsel = self._counsel()
        # The first that can be had at once; a laboratory answers too late.
        if any(game.ask(check.reading, self.pot, check.does) for check in counsel.check_first):
            counsel = self._counsel()
        self.log.append(self._noted(counsel))
        self.hopeless = self.hopeless + 1 if says_unreachable(counsel) else 0
        if self.hopeless >= self.patience:
            game.say_unreachable()
            return
        course, actions = _first(counsel)
        warmed = [float(str(a["to"]).split()[0]) for a in actions if a["kind"] == "warm"]
        game.act(actions)
        if course:
            self.pot = str(course.cup[0]["into"]) if course.cup else course.vessel
        game.write(self.pot, warmed[-1] if warmed else None)

    def _counsel(self) -> Counsel:
        for entry in self.game.book[self.written :]:
            self.shop.record(entry)
        self.written = len(self.game.book)
        return self.shop.counsel(self.pot, self.game.dealt.page, seed=self.seed)

    def _noted(self, counsel: Counsel) -> dict[str, Any]:
        """Return what it believed, beside the truth: to see where it goes wrong."""
        pot = self.shop.estimate(seed=self.seed).to_dict()["vessels"][self.pot]
        # As it will be written: a pot just off the fire is still hot.
        true = {**self.game.truth.true(self.pot), "viscosity": self.game.truth.viscosity(self.pot)}
        names = ("volume", "iron_total", "iron_capacity", "iron_to_capacity", "viscosity")
        return {
            "trial": len(self.game.turns),
            "now": counsel.now.distance.median,
            "true_now": self.game.judge(self.game.truth, self.pot).distance,
            "hoped": counsel.courses[0].standing.distance.median if counsel.courses else None,
            "hoped_flow": counsel.courses[0].standing.flow_ok if counsel.courses else None,
            "hoped_iron": counsel.courses[0].standing.permanence_ok if counsel.courses else None,
            "actions": _first(counsel)[1],
            "reachable": counsel.reachable,
            "says_unreachable": says_unreachable(counsel),
            "note": counsel.note,
            "check": counsel.check_first[0].reading if counsel.check_first else None,
            "believed": {k: [pot[k]["p05"], pot[k]["median"], pot[k]["p95"]] for k in names},
            "true": {k: true[k] for k in names},
        }


class WithoutMisfit(Inkhorn):
    """The same with the estimate's doubts about the model set to nothing."""

    name = "inkhorn without misfit"

    def play_round(self) -> None:
        """Play a round with the misfit rows set to nothing."""
        with without_misfit():
            super().play_round()
