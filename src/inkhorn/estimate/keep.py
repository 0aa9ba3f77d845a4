"""Keeping a posterior between sessions, under a key that changes with all it rests on."""

from __future__ import annotations

import functools
import hashlib
import io
import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Protocol

import numpy as np

from inkhorn.daybook.book import Recorded
from inkhorn.estimate.carry import Particles, earlier
from inkhorn.estimate.posterior import (
    PARTICLES,
    Posterior,
    carried_posterior,
    from_particles,
    sample_posterior,
)
from inkhorn.estimate.problem import make_problem
from inkhorn.handbook.load import rows
from inkhorn.replay.fold import Plan, make_plan
from inkhorn.replay.target import PhotoMeasure

#: Raised whenever the model or the sampler gives other numbers for the same daybook and handbook.
MODEL = 28  # numbers-in-code: counts changes of the model


@functools.cache
def handbook_digest() -> str:
    """Return a digest of every row of the handbook."""
    text = json.dumps([(n, r.value, r.spread, r.shape, r.unit) for n, r in sorted(rows().items())])
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def key_of(entries: Sequence[Recorded], photos: Mapping[int, PhotoMeasure], seed: int) -> str:
    """Return the key of a posterior: daybook, pictures read, handbook, model and seed.

    Parameters
    ----------
    entries : sequence of Recorded
        The effective entries in order of time.
    photos : mapping
        What was read of each `photo` reading; those of other entries do not count.
    """
    book = [(e.number, e.raw) for e in entries]
    numbers = {e.number for e in entries}
    read = {n: (m.density.tolist(), m.covariance.tolist()) for n, m in sorted(photos.items()) if n in numbers}
    text = json.dumps([book, read], sort_keys=True, default=str)
    digest = hashlib.sha256(text.encode()).hexdigest()
    return f"posterior/{MODEL}/{handbook_digest()}/{PARTICLES}/{seed}/{digest}"


def freeze(post: Posterior) -> bytes:
    """Return a posterior's particles as bytes."""
    out = io.BytesIO()
    np.savez_compressed(
        out,
        z=post.z.astype(np.float32),
        names=np.array(list(post.problem.unknowns), dtype=np.str_),
        log_likelihood=post.log_likelihood,
        family=post.family.astype(np.uint16),
        ess=post.ess,
        log_evidence=post.log_evidence,
    )
    return out.getvalue()


def particles(kept: bytes) -> Particles:
    """Return the particles that `freeze` kept."""
    with np.load(io.BytesIO(kept), allow_pickle=False) as data:
        return Particles(
            names=tuple(str(name) for name in data["names"]),
            z=data["z"].astype(np.float64),
            log_likelihood=data["log_likelihood"],
            family=data["family"].astype(np.intp),
            ess=float(data["ess"]),
            log_evidence=float(data["log_evidence"]),
        )


def thaw(plan: Plan, seed: int, kept: bytes) -> Posterior:
    """Return the posterior that `freeze` kept."""
    got = particles(kept)
    return from_particles(
        make_problem(plan), seed, got.z, family=got.family, ess=got.ess, log_evidence=got.log_evidence
    )


class Shelf(Protocol):
    """Where what was worked out is kept between sessions."""

    def recall(self, key: str) -> Any:
        """Return what is kept under a key, or None."""
        ...

    def remember(self, key: str, value: Any) -> None:
        """Keep something under a key."""
        ...


def posterior_of(
    entries: Sequence[Recorded],
    photos: Mapping[int, PhotoMeasure],
    seed: int,
    shelf: Shelf,
    progress: Callable[[float], None] | None = None,
) -> Posterior:
    """Return the posterior of a daybook: kept, carried on from an earlier state of it, or sampled.

    Parameters
    ----------
    entries : sequence of Recorded
        The effective entries in order of time.
    photos : mapping
        What was read of their pictures.
    """
    key, plan = key_of(entries, photos, seed), make_plan(entries, photos)
    kept = shelf.recall(key)
    if isinstance(kept, bytes):
        return thaw(plan, seed, kept)
    before = earlier(entries)
    if before is None:
        post = sample_posterior(plan, seed=seed, progress=progress)
    else:
        first = particles(_frozen(before, photos, seed, shelf, progress))
        post = carried_posterior(plan, first, seed=seed, progress=progress)
    shelf.remember(key, freeze(post))
    return post


def _frozen(
    entries: Sequence[Recorded],
    photos: Mapping[int, PhotoMeasure],
    seed: int,
    shelf: Shelf,
    progress: Callable[[float], None] | None,
) -> bytes:
    """Return a posterior as it is kept, without replaying one that is there already."""
    key = key_of(entries, photos, seed)
    if not isinstance(shelf.recall(key), bytes):
        posterior_of(entries, photos, seed, shelf, progress)
    return bytes(shelf.recall(key))
