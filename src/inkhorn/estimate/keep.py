"""Keeping a posterior between sessions, under a key that changes with all it rests on."""

from __future__ import annotations

import functools
import hashlib
import io
import json

import numpy as np

from inkhorn.estimate.posterior import PARTICLES, Posterior, from_particles
from inkhorn.estimate.problem import make_problem
from inkhorn.handbook.load import rows
from inkhorn.replay.fold import Plan

#: Raised whenever the model or the sampler gives other numbers for the same daybook and handbook.
MODEL = 8


@functools.cache
def handbook_digest() -> str:
    """Return a digest of every row of the handbook."""
    text = json.dumps([(n, r.value, r.spread, r.shape, r.unit) for n, r in sorted(rows().items())])
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def key_of(plan: Plan, seed: int) -> str:
    """Return the key of a posterior: daybook, pictures read, handbook, model and seed."""
    book = [(e.number, e.raw) for e in plan.entries]
    photos = {n: (m.density.tolist(), m.covariance.tolist()) for n, m in sorted(plan.scene.photos.items())}
    text = json.dumps([book, photos], sort_keys=True, default=str)
    digest = hashlib.sha256(text.encode()).hexdigest()
    return f"posterior/{MODEL}/{handbook_digest()}/{PARTICLES}/{seed}/{digest}"


def rounded(post: Posterior) -> Posterior:
    """Return a posterior as it will be after keeping, so that warm and cold answers are the same."""
    return from_particles(post.problem, post.seed, _single(post.z), post.ess, post.log_evidence, post.reports)


def _single(z: np.ndarray) -> np.ndarray:
    return z.astype(np.float32).astype(np.float64)


def freeze(post: Posterior) -> bytes:
    """Return a posterior's particles as bytes."""
    out = io.BytesIO()
    np.savez_compressed(
        out,
        z=post.z.astype(np.float32),
        names=np.array(list(post.problem.unknowns), dtype=np.str_),
        ess=post.ess,
        log_evidence=post.log_evidence,
    )
    return out.getvalue()


def thaw(plan: Plan, seed: int, kept: bytes) -> Posterior:
    """Return the posterior that `freeze` kept."""
    with np.load(io.BytesIO(kept), allow_pickle=False) as data:
        z = data["z"].astype(np.float64)
        ess, log_evidence = float(data["ess"]), float(data["log_evidence"])
    return from_particles(make_problem(plan), seed, z, ess, log_evidence, ())
