"""No constant of nature and no prior hides in the code of the thinking floors: they live in the handbook.

The scan reads every number written in these floors. It lets through what is no
knowledge (small counts, powers of ten and of two, units of time and the zero
of Celsius, numerical tolerances) and what carries a marker

    # numbers-in-code: <the standard, or why this is no knowledge of nature>

on its own line (it covers the next statement; outside functions all of them up
to the next blank line) or at the end of a line (it covers that statement). What
the scan cannot see: a constant put together from small integers, as 3 / 5.
"""

from __future__ import annotations

import ast
import io
import math
import textwrap
import tokenize
from pathlib import Path

import pytest

import inkhorn

FLOORS = ("chemistry", "flow", "optics", "imaging", "replay", "estimate", "counsel", "compare")
PACKAGE = Path(inkhorn.__file__).parent
MARKER = "numbers-in-code:"
#: Seconds in a minute, an hour and a day; the zero of Celsius (exact, SI brochure 2019); grams in a kilogram.
UNITS = {60.0, 3600.0, 86400.0, 273.15, 1000.0}
TOLERANCE = 1e-5
LARGEST_COUNT = 12
SHORTEST_REASON = 8


def harmless(number: float) -> bool:
    """Tell whether a number is a count, a power, a unit or a tolerance, and no knowledge."""
    size = abs(number)
    if size in UNITS or size == 0.5 or size < TOLERANCE:
        return True
    if size == int(size) and size <= LARGEST_COUNT:
        return True
    if isinstance(number, int) and size & (size - 1) == 0:
        return True
    return math.isclose(math.log10(size), round(math.log10(size)), abs_tol=1e-12)


def markers(source: str) -> dict[int, tuple[str, bool]]:
    """Return the line of each marker, with its reason and whether it has the line to itself."""
    found = {}
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.COMMENT and MARKER in token.string:
            reason = token.string.split(MARKER, 1)[1].strip()
            found[token.start[0]] = (reason, not token.line[: token.start[1]].strip())
    return found


def heads(tree: ast.Module) -> list[tuple[int, int]]:
    """Return first and last line of each statement; of a compound one (a loop, a function) only its head."""
    out = []
    for node in ast.walk(tree):
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            out.append((node.lineno, max(node.lineno, body[0].lineno - 1) if body else node.end_lineno))
    return sorted(out)


def covered(source: str, tree: ast.Module) -> set[int]:
    """Return the lines that a marker with a reason speaks for."""
    lines, statements = source.splitlines(), heads(tree)
    functions = [(n.lineno, n.end_lineno) for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
    out: set[int] = set()
    for at, (reason, alone) in markers(source).items():
        if len(reason) < SHORTEST_REASON:
            continue
        if not alone:
            first, last = max((s for s in statements if s[0] <= at <= s[1]), default=(at, at))
        elif any(f[0] < at <= f[1] for f in functions):
            first, last = next(s for s in statements if s[0] > at)
        else:
            first = last = at
            while last < len(lines) and lines[last].strip():
                last += 1
        out.update(range(first, last + 1))
    return out


def offenders(source: str) -> list[tuple[int, float]]:
    """Return line and number of everything in a source that should be a handbook row."""
    tree = ast.parse(source)
    excused = covered(source, tree)
    return [
        (node.lineno, node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and type(node.value) in {int, float}
        and not harmless(node.value)
        and node.lineno not in excused
    ]


@pytest.mark.parametrize("floor", FLOORS)
def test_no_number_of_nature_is_in_the_code(floor: str) -> None:
    """Every number on a thinking floor is harmless, or is marked with its standard or reason."""
    found = [
        f"{path.relative_to(PACKAGE)}:{line}: {number}"
        for path in sorted((PACKAGE / floor).rglob("*.py"))
        for line, number in offenders(path.read_text("utf-8"))
    ]
    assert not found, "move to a handbook row, or mark with '# numbers-in-code: why':\n" + "\n".join(found)


@pytest.mark.parametrize(
    "planted",
    [
        "STRENGTH = 0.37",
        "def f(x, sites=4.5):\n    return x * sites",
        "x = y * 72.8e-3",
        "def f(t):\n    return t - 291",
        "x = -1.8",
        "# numbers-in-code:\nx = 0.37",
        "# numbers-in-code: a standard of long standing\nx = 0.37\n\ny = 0.38",
        "x = 0.37  # numbers-in-code: a standard of long standing\ny = 0.38",
        "def f():\n    # numbers-in-code: a standard of long standing\n    x = 0.37\n    return 0.38 * x",
    ],
)
def test_a_planted_prior_is_caught(planted: str) -> None:
    """The scan is not blind: a prior, a default, a reference temperature and an empty excuse are found."""
    assert len(offenders(planted)) == 1


@pytest.mark.parametrize(
    "plain",
    [
        "x = (0, 1, 2, 0.5, 12, 1e3, 1e-3, 1e-9, 3600.0, 273.15, 256)",
        "# numbers-in-code: IAPWS SR6-08(2011)\nx = 280.68\ny = 511.45",
        "x = (\n    280.68,\n    511.45,\n)  # numbers-in-code: IAPWS SR6-08(2011)",
        "class A:\n    x: float = 0.3  # numbers-in-code: a setting of the search",
    ],
)
def test_harmless_and_marked_numbers_pass(plain: str) -> None:
    """The scan does not cry out at counts, units, tolerances, or what says where it is from."""
    assert offenders(plain) == []


def test_a_marker_at_the_head_of_a_loop_does_not_excuse_its_body() -> None:
    """A marker behind ``for ...:`` covers the head only, or one comment would excuse a whole function."""
    source = """
    for _ in range(40):  # numbers-in-code: rounds of a search
        x = 0.37
    """
    assert [number for _, number in offenders(textwrap.dedent(source))] == [0.37]
