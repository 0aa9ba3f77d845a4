"""The floors of the house stay in order, in the source and at run time."""

from __future__ import annotations

import configparser
import json
import subprocess
import sys
from pathlib import Path

import pytest

import inkhorn

PACKAGE = Path(inkhorn.__file__).parent
ROOT = PACKAGE.parents[1]
CONTRACTS = ROOT / ".importlinter"
#: What the thinking floors may never load: the database, the page, the command, the network.
HEAVY = ("sqlalchemy", "alembic", "starlette", "uvicorn", "jinja2", "click", "rich", "httpx2")
THINKING = (
    "inkhorn.counsel.advise",
    "inkhorn.estimate.posterior",
    "inkhorn.replay.fold",
    "inkhorn.compare.compare",
    "inkhorn.imaging.read",
    "inkhorn.chemistry.speciation",
    "inkhorn.optics.film",
    "inkhorn.flow.mixture",
)


def _lint(contracts: Path, where: Path) -> subprocess.CompletedProcess[str]:
    # The cache can keep an old verdict.
    code = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    command = [sys.executable, "-c", code, str(contracts), "--no-cache"]
    return subprocess.run(command, cwd=where, capture_output=True, text=True, check=False)


def _loaded(module: str) -> set[str]:
    """Return the top names of everything that a fresh interpreter loads with a module."""
    code = f"import json, sys, {module}; print(json.dumps(sorted({{m.split('.')[0] for m in sys.modules}})))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_the_contracts_hold() -> None:
    """No floor imports one above it, siblings do not import each other, nothing goes round in a circle."""
    done = _lint(CONTRACTS, ROOT)
    assert done.returncode == 0, done.stdout


def test_a_crossed_floor_is_caught(tmp_path: Path) -> None:
    """The check is not blind: with two floors swapped it fails and names both."""
    text = CONTRACTS.read_text("utf-8")
    swapped = text.replace("    counsel\n    estimate\n", "    estimate\n    counsel\n", 1)
    assert swapped != text
    wrong = tmp_path / "swapped.ini"
    wrong.write_text(swapped, "utf-8")
    done = _lint(wrong, ROOT)
    assert done.returncode == 1
    assert "inkhorn.counsel" in done.stdout
    assert "inkhorn.estimate" in done.stdout


def test_every_folder_has_its_floor() -> None:
    """The contract is exhaustive, and it names every module and folder of the package."""
    parser = configparser.ConfigParser()
    parser.read_string(CONTRACTS.read_text("utf-8"))
    floors = parser["importlinter:contract:floors"]
    placed = {
        name.strip() for line in floors["layers"].splitlines() for name in line.split("|") if name.strip()
    }
    there = {p.stem for p in PACKAGE.iterdir() if (p.suffix == ".py" or (p / "__init__.py").exists())}
    assert floors["exhaustive"] == "True"
    assert there - {"__init__"} == placed


def test_every_folder_of_modules_is_a_package() -> None:
    """A folder without ``__init__`` is invisible to the contracts, and so is whatever it imports."""
    folders = {path.parent for path in PACKAGE.rglob("*.py")}
    assert [folder for folder in folders if not (folder / "__init__.py").exists()] == []


@pytest.mark.parametrize("module", THINKING)
def test_thinking_loads_no_database_page_or_command(module: str) -> None:
    """In a fresh interpreter a thinking floor loads neither database nor face.

    The contract cannot see what a package's ``__init__`` loads; this can.
    """
    assert _loaded(module) & set(HEAVY) == set()


def test_the_facade_does_load_the_database() -> None:
    """The look at loaded modules is not blind: the workshop itself loads the store."""
    assert "sqlalchemy" in _loaded("inkhorn.workshop")


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("__init__.py")), ids=lambda p: p.parent.name)
def test_a_floor_opens_onto_nothing(path: Path) -> None:
    """``__init__`` of a floor holds a docstring and no import, or every visit would load the floor whole."""
    if path.parent == PACKAGE:
        pytest.skip("the package itself has one lazy import, of Workshop")
    assert "import" not in path.read_text("utf-8")


def test_a_name_that_is_not_there() -> None:
    """The lazy import of `Workshop` gives it, and says no to anything else."""
    assert inkhorn.Workshop.__name__ == "Workshop"
    with pytest.raises(AttributeError, match="no attribute 'Inkwell'"):
        _ = inkhorn.Inkwell
