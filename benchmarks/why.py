"""How often a complaint leads to the true fault, on workshops with one known fault each.

Run: ``python benchmarks/why.py [FIRST LAST]`` (seeds; 100 120 if left out). The workshops, their inks, what
their makers complain of and what the checks show follow the physics of `inkhorn.simulate`. Seeds below 100 were
looked at while the tables of complaints were written; those from 100 on were not.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from inkhorn.simulate.faults import FAULTS, POT, faulty_workshop
from inkhorn.workshop import Workshop


class Diagnosed(NamedTuple):
    """What was said of one workshop before and after the one check that was advised."""

    seed: int
    fault: str
    complaint: str
    named: str
    chance: float
    check: str
    outcome: str
    named_after: str


def diagnose(seed: int, fault: str) -> Diagnosed:
    """Deal a faulty workshop, complain, do the check, tell its outcome."""
    case = faulty_workshop(seed, fault)
    with tempfile.TemporaryDirectory() as folder, Workshop.create(Path(folder) / "dealt") as shop:
        for entry in case.entries:
            shop.record(entry)
        asked = {"trial": case.trial} if case.trial else {"vessel": POT}
        first = shop.why(case.complaint, **asked)
        best = first.causes[0]
        if first.check is None:
            return Diagnosed(seed, fault, case.complaint, best.key, best.chance, "", "", best.key)
        check = first.check.key
        outcome = case.check(check)
        after = shop.why(case.complaint, found=[f"{check}: {outcome}"], **asked)
    return Diagnosed(seed, fault, case.complaint, best.key, best.chance, check, outcome, after.causes[0].key)


def share(right: int, of: int) -> str:
    """Return a share with its standard error, in per cent."""
    p = right / of
    return f"{100 * p:.0f} % (± {100 * math.sqrt(p * (1 - p) / of):.0f})"


def matrix(found: Sequence[Diagnosed], which: str) -> str:
    """Return the confusion matrix: a row a true fault, a column what was named first."""
    table: dict[str, Counter[str]] = defaultdict(Counter)
    for one in found:
        table[one.fault][getattr(one, which)] += 1
    columns = [*FAULTS, *sorted({name for row in table.values() for name in row} - set(FAULTS))]
    head = " " * 16 + " ".join(f"{name[:9]:>9}" for name in columns)
    lines = [
        f"{fault:<16}" + " ".join(f"{table[fault][name] or '.':>9}" for name in columns) for fault in FAULTS
    ]
    return "\n".join((head, *lines))


def main() -> None:
    """Print how often the true fault was named first, by fault, and the confusion matrices."""
    first, last = (int(a) for a in sys.argv[1:3]) if len(sys.argv) > 2 else (100, 120)
    began, found = time.time(), []
    for seed in range(first, last):
        for fault in FAULTS:
            found.append(diagnose(seed, fault))
            print(*found[-1], f"{time.time() - began:.0f} s", sep="\t", file=sys.stderr, flush=True)
    n = len(found)
    print(f"seeds {first} to {last - 1}, {n} workshops")
    print(f"true fault named first: {share(sum(d.named == d.fault for d in found), n)}")
    print(f"after the one check:    {share(sum(d.named_after == d.fault for d in found), n)}")
    for fault in FAULTS:
        mine = [d for d in found if d.fault == fault]
        said = ", ".join(f"{key} {k}" for key, k in Counter(d.complaint for d in mine).most_common())
        done = ", ".join(f"{key} {k}" for key, k in Counter(d.check for d in mine).most_common())
        before, after = (sum(getattr(d, w) == fault for d in mine) for w in ("named", "named_after"))
        print(f"{fault:<16} {before:3d} {after:3d} of {len(mine)}   said: {said}; checked: {done}")
    print("\nbefore the check\n" + matrix(found, "named"))
    print("\nafter it\n" + matrix(found, "named_after"))
    print("\nhow likely the first-named was said to be, and how often it was right")
    for low in (0.0, 0.25, 0.5, 0.75):
        some = [d for d in found if low <= d.chance < low + 0.25]
        if some:
            said_chance = sum(d.chance for d in some) / len(some)
            print(
                f"  said {100 * said_chance:.0f} %: right {share(sum(d.named == d.fault for d in some), len(some))}"
            )


if __name__ == "__main__":
    main()
