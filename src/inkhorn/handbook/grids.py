"""Typed access to the long tables: ``grid("observer")`` reads ``tables/observer.csv``.

A grid is a CSV file of numbers with one header line; a TOML file of the same
name beside it says what it is, its units, its source mark and its source.
"""

from __future__ import annotations

import csv
import functools
from collections.abc import Mapping
from importlib import resources
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from inkhorn.errors import HandbookError


@functools.cache
def grid(name: str) -> Mapping[str, NDArray[np.float64]]:
    """Return the columns of one grid by their heading, each read-only and of equal length.

    Parameters
    ----------
    name : str
        File name without its ending.

    Raises
    ------
    HandbookError
        If the file is missing, ragged or holds anything but numbers.
    """
    path = resources.files("inkhorn.handbook") / "tables" / f"{name}.csv"
    where = f"handbook/tables/{name}.csv"
    if not path.is_file():
        raise HandbookError("there is no such grid", where=where)
    lines = [line for line in csv.reader(path.read_text("utf-8").splitlines()) if line]
    heads, body = lines[0], lines[1:]
    try:
        numbers = np.array(body, dtype=np.float64)
    except ValueError as error:
        raise HandbookError(f"a line is ragged or not a number ({error})", where=where) from error
    if numbers.ndim != 2 or numbers.shape[1] != len(heads) or not np.isfinite(numbers).all():
        raise HandbookError("the lines do not match the heading, or a number is not finite", where=where)
    columns = {}
    for head, column in zip(heads, numbers.T, strict=True):
        columns[head] = np.ascontiguousarray(column)
        columns[head].setflags(write=False)
    return MappingProxyType(columns)
