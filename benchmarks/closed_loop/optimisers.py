"""General-purpose optimisers over continuous amounts, each trial a fresh cup (needs the extra ``bench``)."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import optuna
from bayes_opt import BayesianOptimization, acquisition
from benchmarks.closed_loop.game import Game
from benchmarks.closed_loop.on_cups import OnCups, key_of


class Gaussian(OnCups):
    """A Gaussian process (Matern 5/2) with expected improvement, from the package bayesian-optimization."""

    name = "Gaussian process"

    def __init__(self, game: Game, seed: int = 0) -> None:
        super().__init__(game, seed)
        box = {key_of(k): (k.low, k.high) for k in self.space}
        self.engine: Any = BayesianOptimization(
            f=None, pbounds=box, acquisition_function=acquisition.ExpectedImprovement(xi=0.01),
            random_state=seed, verbose=0, allow_duplicate_points=True,
        )  # fmt: skip
        self.engine.register(params=self.still(), target=-self.first_loss)
        self.scatter = np.random.default_rng(seed)

    def play_round(self) -> None:
        """Five trials scattered over the box, then where most improvement is expected."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if len(self.game.turns) <= 5:
                x = {key_of(k): float(self.scatter.uniform(k.low, k.high)) for k in self.space}
            else:
                x = dict(self.engine.suggest())
            loss = self.trial(self.named(x))
            if np.isfinite(loss):
                self.engine.register(params=x, target=-loss)


class Trees(OnCups):
    """The tree-structured Parzen estimator of the package optuna."""

    name = "Parzen trees"

    def __init__(self, game: Game, seed: int = 0) -> None:
        super().__init__(game, seed)
        optuna.logging.set_verbosity(optuna.logging.ERROR)
        sampler = optuna.samplers.TPESampler(seed=seed, n_startup_trials=8)
        self.study = optuna.create_study(sampler=sampler, direction="minimize")
        self.box = {key_of(k): optuna.distributions.FloatDistribution(k.low, k.high) for k in self.space}
        self.study.add_trial(
            optuna.trial.create_trial(params=self.still(), distributions=self.box, value=self.first_loss)
        )

    def play_round(self) -> None:
        """Ask, try, tell."""
        trial = self.study.ask(self.box)
        loss = self.trial(self.named(trial.params))
        if np.isfinite(loss):
            self.study.tell(trial, loss)
