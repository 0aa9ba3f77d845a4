"""Every error of inkhorn is one tree, drawn in the docstring, with what, where and mend."""

from __future__ import annotations

import ast
import copy
import inspect
import json
import pickle
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import inkhorn
from inkhorn import errors
from inkhorn.errors import EntryErrors, InkhornError

PACKAGE = Path(inkhorn.__file__).parent
KINDS = [kind for _, kind in inspect.getmembers(errors, inspect.isclass) if issubclass(kind, InkhornError)]
#: What is raised besides: HTTP's own errors by the page, what `__getattr__` owes the language, a
#: programmer's slip in naming a substance or a field, which no daybook can cause, and what tells whoever guesses
#: at a pairing code to wait.
ALLOWED = {
    "__init__.py": {"AttributeError"},
    "replay/liquor.py": {"KeyError"},
    "replay/world.py": {"TypeError"},
    "web/pairing.py": {"TooMany"},
}
PAGE = {"HTTPException"}


def _example(kind: type[InkhornError]) -> InkhornError:
    if kind is EntryErrors:
        faults = [
            errors.UnknownKeyError("no key 'amont'", where="add", mend="The nearest is 'amount'"),
            errors.QuantityError("'lots' is no amount", where="amount"),
        ]
        return EntryErrors(faults)
    return kind("the pot is empty", where="vessel:pot", mend="Pour something in")


def _pickled(error: InkhornError) -> InkhornError:
    back: InkhornError = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes
    return back


def _tree() -> dict[str, int]:
    """Return each name drawn in the docstring with its depth."""
    found = {}
    for line in (errors.__doc__ or "").splitlines():
        if match := re.match(r"^    ([│├└─ ]*)(\w+Errors?)\b", line):
            found[match.group(2)] = len(match.group(1)) // 4
    return found


def test_the_tree_is_drawn_whole() -> None:
    """The docstring draws every class of the module and no other."""
    assert set(_tree()) == {kind.__name__ for kind in KINDS}


@pytest.mark.parametrize("kind", KINDS)
def test_depth_in_the_drawing_is_depth_in_the_tree(kind: type[InkhornError]) -> None:
    """A class hangs in the drawing as deep as it does in the code."""
    assert _tree()[kind.__name__] == kind.__mro__.index(InkhornError)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("again", [_pickled, copy.copy])
def test_an_error_survives_the_way_to_another_process(
    kind: type[InkhornError], again: Callable[[InkhornError], InkhornError]
) -> None:
    """Pickled or copied, an error keeps its kind and all its parts."""
    before = _example(kind)
    after = again(before)
    assert type(after) is kind
    assert after.to_dict() == before.to_dict()
    assert after.sentence() == before.sentence()


@pytest.mark.parametrize("kind", KINDS)
def test_an_error_says_what_where_and_mend(kind: type[InkhornError]) -> None:
    """The sentence holds every part, and the JSON form has the four keys."""
    error = _example(kind)
    answer = error.to_dict()
    assert {"error", "what", "where", "mend"} <= set(answer)
    assert answer["error"] == kind.__name__
    assert json.loads(json.dumps(answer)) == answer
    parts = answer.get("faults", [answer])
    for part in parts:
        for key in ("what", "where", "mend"):
            assert part[key] in error.sentence()
    assert str(error) == error.sentence()
    assert error.sentence().endswith(".")


def test_several_faults_are_all_said() -> None:
    """An entry with two faults is told both, and one with one fault only that."""
    both = _example(EntryErrors)
    assert both.sentence().startswith("2 things are wrong with the entry: ")
    assert len(both.to_dict()["faults"]) == 2
    one = EntryErrors([errors.TimeError("too early", where="at")])
    assert one.sentence() == "at: too early."


def _modules() -> Iterator[tuple[str, ast.Module]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        yield str(path.relative_to(PACKAGE)), ast.parse(path.read_text("utf-8"))


def _raised(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Yield line and class of what is raised; a lower-case name is a function that makes the error."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            call = node.exc.func
            name = call.id if isinstance(call, ast.Name) else getattr(call, "attr", "")
            if name[:1].isupper():
                yield node.lineno, name


def test_what_is_raised_is_of_the_tree() -> None:
    """Every module raises errors of this tree; the page may also say HTTP's own."""
    known = {kind.__name__ for kind in KINDS}
    odd = [
        f"{name}:{line}: {kind}"
        for name, tree in _modules()
        for line, kind in _raised(tree)
        if kind not in known | ALLOWED.get(name, set()) | (PAGE if name.startswith("web/") else set())
    ]
    assert odd == []


def test_a_stray_error_is_caught() -> None:
    """The look at what is raised is not blind."""
    tree = ast.parse("def f():\n    raise ValueError('no')\n")
    assert list(_raised(tree)) == [(2, "ValueError")]


def test_nothing_is_swallowed() -> None:
    """No bare ``except:`` anywhere: it would hide a fault from the maker."""
    bare = [
        f"{name}:{node.lineno}"
        for name, tree in _modules()
        for node in ast.walk(tree)
        if isinstance(node, ast.ExceptHandler) and node.type is None
    ]
    assert bare == []
