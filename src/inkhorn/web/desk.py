"""Long answers worked out beside the page, so that the page itself comes at once.

One thread works through the questions in turn.  A question is asked together
with the number of the last entry that it takes into account; the newest
finished answer to the same question stays at hand until a newer one is ready.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Hashable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as NotYet
from typing import Any

import attrs

from inkhorn.errors import EstimateError, InkhornError

_log = logging.getLogger(__name__)

Work = Callable[[], Any]


@attrs.frozen(kw_only=True)
class Answer:
    """What is known of a question now.

    Parameters
    ----------
    value : object or None
        The newest finished answer; it may be of an earlier entry.
    after : int
        Number of the last entry that `value` takes into account.
    working : bool
        Whether a newer answer is being worked out.
    fault : InkhornError or None
        Why the newest question has no answer.
    """

    value: Any = None
    after: int = 0
    working: bool = False
    fault: InkhornError | None = None


class Desk:
    """Questions, the thread that answers them, and the last answers; ``turn`` counts the answers so far.

    Parameters
    ----------
    keep : int
        How many questions to remember the answers of.
    """

    def __init__(self, *, keep: int = 64) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="inkhorn-desk")
        self._lock = threading.Lock()
        self._asked: dict[tuple[Hashable, int], Future[Any]] = {}
        self._last: dict[Hashable, tuple[int, Any]] = {}
        self._keep = keep
        self.turn = 0

    def ask(self, question: Hashable, after: int, work: Work, *, patience: float = 0) -> Answer:
        """Return what is known of a question, and have it worked out if that is out of date.

        Parameters
        ----------
        question : hashable
            What is asked, without the entry number.
        after : int
            Number of the last entry the answer must take into account.
        work : callable
            Works the answer out; runs in the desk's own thread.
        patience : float
            How long to wait for the answer, in seconds, before going on without it.
        """
        future = self._future(question, after, work)
        # Whoever has an earlier answer to look at need not be kept waiting for the newer one.
        wait = 0 if self.known(question).value is not None else patience
        try:
            value = future.result(timeout=wait)
        except (NotYet, CancelledError):
            # Too slow, or overtaken by a later entry meanwhile.
            return self._before(question)
        except InkhornError as fault:
            return attrs.evolve(self._before(question), working=False, fault=fault)
        return Answer(value=value, after=after)

    def known(self, question: Hashable) -> Answer:
        """Return the newest finished answer to a question, without having a newer one worked out."""
        with self._lock:
            after, value = self._last.get(question, (0, None))
        return Answer(value=value, after=after)

    def wait(self, question: Hashable, after: int, work: Work) -> Any:
        """Return the answer to a question, however long it takes; raise what it raises."""
        return self._future(question, after, work).result()

    def idle(self) -> bool:
        """Tell whether nothing is being worked out."""
        with self._lock:
            return all(future.done() for future in self._asked.values())

    def close(self) -> None:
        """Drop what waits and let the thread end after what it is at."""
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _before(self, question: Hashable) -> Answer:
        with self._lock:
            after, value = self._last.get(question, (0, None))
        return Answer(value=value, after=after, working=True)

    def _future(self, question: Hashable, after: int, work: Work) -> Future[Any]:
        key = (question, after)
        with self._lock:
            if key not in self._asked or self._asked[key].cancelled():
                self._drop_older(question, after)
                self._asked[key] = self._pool.submit(self._run, question, after, work)
            return self._asked[key]

    def _drop_older(self, question: Hashable, after: int) -> None:
        """Cancel the same question about an earlier daybook; forget the oldest finished ones."""
        for (other, number), future in list(self._asked.items()):
            if other == question and number < after:
                future.cancel()
                del self._asked[other, number]
        done = [key for key, future in self._asked.items() if future.done()]
        for key in done[: max(0, len(self._asked) - self._keep)]:
            del self._asked[key]

    def _run(self, question: Hashable, after: int, work: Work) -> Any:
        try:
            value = work()
        except InkhornError:
            raise
        except Exception as error:
            # The page must say that something broke; the terminal must say what.
            _log.exception("could not work out %s", question)
            raise EstimateError(
                "this could not be worked out, and the fault is inkhorn's own",
                mend="The terminal that serves this page says more",
            ) from error
        with self._lock:
            self._last[question] = (after, value)
            self.turn += 1
            while len(self._last) > self._keep:
                del self._last[next(iter(self._last))]
        return value
