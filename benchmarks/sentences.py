"""How well sentences are understood: the table of each part of the corpus, and the time a sentence takes.

Run it with ``make bench-sentences``. The parts set aside are only counted.
"""

from __future__ import annotations

import functools
import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from inkhorn.sentences.understand import understand
from support import sentence_corpus as corpus

COLUMNS = ("right at once", "right, a yes asked", "asked rightly", "refused rightly", "asked or refused, not rightly", "wrong, a yes asked", "silently wrong")  # fmt: skip


@functools.cache
def book(bench: str):
    """Return what stands in the daybook of a bench."""
    return corpus.set_up(bench).book


def column(sentence: corpus.Sentence) -> str:
    """Return what came of a sentence, as a column of the table."""
    found = understand(sentence.say, book(sentence.bench), sentence.now)
    asks = (found.question.field,) if found.question else ()
    verdict = corpus.judge(sentence, entries=found.entries, asks=asks)
    if verdict == corpus.UNDERSTOOD:
        return COLUMNS[0] if found.sure else COLUMNS[1]
    if verdict == corpus.WRONG:
        return COLUMNS[6] if found.sure else COLUMNS[5]
    return {corpus.ASKED: COLUMNS[2], corpus.REFUSED: COLUMNS[3]}.get(verdict, COLUMNS[4])


def main() -> None:
    """Print the table."""
    for part in corpus.PARTS:
        chosen = corpus.sentences(part)
        for sentence in chosen:
            book(sentence.bench)
        begin = time.perf_counter()
        counts = Counter(column(sentence) for sentence in chosen)
        took = (time.perf_counter() - begin) / len(chosen)
        right = sum(counts[name] for name in COLUMNS[:4])
        print(
            f"{part}: {len(chosen)} sentences, {100 * right / len(chosen):.1f} % right, {1000 * took:.1f} ms each (judging included)"
        )
        for name in COLUMNS:
            print(f"  {name:30s} {counts[name]:4d}  {100 * counts[name] / len(chosen):5.1f} %")
        if part == "blind":
            deals(chosen)


def deals(chosen: Sequence[corpus.Sentence]) -> None:
    """Print a line for each deal of a part, in the order of the columns."""
    for deal in sorted({sentence.file for sentence in chosen}):
        counts = Counter(column(sentence) for sentence in chosen if sentence.file == deal)
        right = sum(counts[name] for name in COLUMNS[:4])
        told = ", ".join(f"{counts[name]} {name}" for name in COLUMNS)
        print(f"  {deal}: {100 * right / counts.total():.1f} % of {counts.total()} right ({told})")


if __name__ == "__main__":
    main()
