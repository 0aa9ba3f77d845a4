"""The long tables."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from inkhorn.errors import HandbookError
from inkhorn.handbook.grids import grid

ROOT = Path(__file__).parents[3]


@pytest.mark.parametrize("name", ["observer", "absorptivity", "absorptivity_spread", "harkins_brown"])
def test_columns_are_equal_and_read_only(name: str) -> None:
    """Each grid must have columns of one length that nobody can overwrite."""
    columns = list(grid(name).values())
    assert len({len(c) for c in columns}) == 1
    for column in columns:
        with pytest.raises(ValueError, match="read-only"):
            column[0] = 0


def test_missing_grid_is_named() -> None:
    """A grid that is not there must be an error that names it."""
    with pytest.raises(HandbookError, match="nowhere"):
        grid("nowhere")


def test_absorptivity_is_what_its_script_makes(tmp_path: Path) -> None:
    """The stored curves must be those of the script beside them."""
    path = ROOT / "validation" / "absorptivity" / "make.py"
    spec = importlib.util.spec_from_file_location("make_absorptivity", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.TABLES = tmp_path
    module.main()
    for name in ("absorptivity", "absorptivity_spread"):
        made = np.loadtxt(tmp_path / f"{name}.csv", delimiter=",", skiprows=1)
        np.testing.assert_array_equal(np.stack(list(grid(name).values()), axis=1), made)


def test_curves_are_shapes() -> None:
    """The colorants' shapes must lie between 0 and 1 from 400 nm on, with a spread."""
    shape, spread = grid("absorptivity"), grid("absorptivity_spread")
    seen = shape["wavelength"] >= 400
    assert max(shape["gallate"][seen].max(), shape["catecholate"][seen].max()) <= 1
    assert shape["brown"][shape["wavelength"] == 400] == 1
    for name in ("gallate", "catecholate", "brown"):
        assert (shape[name] > 0).all()
        assert (spread[name] >= 0).all()
        assert spread[name].max() < 0.35
