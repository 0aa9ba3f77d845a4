"""Compiled loops over draws shared out among the cores."""

from __future__ import annotations

import functools
import itertools
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

#: More threads than this do not pay for a few thousand draws.
_MOST = 4


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@functools.cache
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(max_workers=min(cores(), _MOST), thread_name_prefix="draws")


if hasattr(os, "register_at_fork"):
    # A forked child has the pool but not its threads.
    os.register_at_fork(after_in_child=_pool.cache_clear)


def in_parts(work: Callable[[slice], int], rows: int, *, least: int) -> list[int]:
    """Call ``work`` for slices that together cover ``rows``, side by side where there are enough.

    Parameters
    ----------
    work : callable
        Lets go of the interpreter (compiled with ``nogil``) and writes nothing
        outside its slice, so that the result does not depend on the number of parts.
    rows : int
    least : int
        Rows that a part must have to be worth a thread.

    Returns
    -------
    list of int
        What each call returned.
    """
    parts = max(1, min(cores(), _MOST, rows // least))
    ends = [rows * i // parts for i in range(parts + 1)]
    slices = [slice(i, j) for i, j in itertools.pairwise(ends)]
    if parts == 1:
        return [work(slices[0])]
    return list(_pool().map(work, slices))
