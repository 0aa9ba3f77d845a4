"""Read a file of measured colours: CGATS text or CSV, with a name and Lab or XYZ for each patch."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import attrs
import numpy as np
from numpy.typing import NDArray

from inkhorn.colour.lab import xyz_to_lab
from inkhorn.colour.xyz import D50_WHITE, adaptation, white
from inkhorn.errors import PictureError

Array = NDArray[np.float64]

_NAMES = ("SAMPLE_NAME", "SAMPLE_LOC", "SAMPLE_ID", "NAME", "PATCH")
_PLACE = re.compile(r"([A-Z]+)[-_ ]?0*([1-9][0-9]*)")
_MEND = "Give CGATS text (BEGIN_DATA_FORMAT, BEGIN_DATA) or CSV with a header; columns name and L, a, b or X, Y, Z"


@attrs.frozen(kw_only=True, eq=False)
class Reference:
    """Measured patches.

    Attributes
    ----------
    names : tuple of str
    xyz : ndarray (n, 3)
        Under D65, white at Y = 1.
    grid : ndarray of int (n, 2) or None
        Row and column of each patch from 0; None where neither columns nor names (A1, B3) tell.
    """

    names: tuple[str, ...]
    xyz: Array
    grid: NDArray[np.int64] | None

    @property
    def lab(self) -> Array:
        """Return CIE Lab under D65, (n, 3)."""
        return xyz_to_lab(self.xyz)


def read_reference(source: str | Path) -> Reference:
    """Read a file of measured colours.

    Values are for D50, as instruments of the printing trade give them (ISO 13655),
    unless the file says D65 (CGATS: ``ILLUMINANT "D65"``; CSV: a column ``illuminant``);
    they are adapted to D65 by Bradford.

    Raises
    ------
    PictureError
        The file cannot be read as such, with its line where there is one.
    """
    where = str(source)
    try:
        text = Path(source).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise PictureError(f"the reference file cannot be read ({error})", where=where, mend=_MEND) from error
    every, is_d65 = _cgats(text, where) if "BEGIN_DATA" in text else _csv(text, where)
    table = [line for line in every if _filled(line)]
    if not table:
        raise PictureError("the reference file holds no patches", where=where, mend=_MEND)
    names = tuple(_name(line, where, number) for number, line in enumerate(table, 1))
    if len(set(names)) < len(names):
        twice = next(n for n in names if names.count(n) > 1)
        raise PictureError(f"patch {twice!r} is there twice", where=where, mend="Give each patch once")
    xyz = np.array([_xyz(line, where, name, is_d65=is_d65) for line, name in zip(table, names, strict=True)])
    if not is_d65:
        xyz = xyz @ adaptation(D50_WHITE, white()).T
    return Reference(names=names, xyz=xyz, grid=_grid(table, names))


def _filled(line: dict[str, str]) -> bool:
    """Tell whether a line is not one of a form that was left empty."""
    firsts = [line[key] for key in ("L", "L*", "LAB_L", "X", "XYZ_X") if key in line]
    return not firsts or any(firsts)


def _cgats(text: str, where: str) -> tuple[list[dict[str, str]], bool]:
    """Return the lines of a CGATS.17 / ISO 28178 text file by field, and whether they are for D65."""
    fields = re.search(r"BEGIN_DATA_FORMAT\s+(.*?)\s*END_DATA_FORMAT", text, re.DOTALL)
    data = re.search(r"BEGIN_DATA\s(?!_)(.*?)\s*END_DATA\b", text, re.DOTALL)
    if fields is None or data is None:
        raise PictureError("the CGATS file lacks its data format or its data", where=where, mend=_MEND)
    names = [name.upper() for name in fields[1].split()]
    table = []
    for number, line in enumerate(data[1].strip().splitlines(), 1):
        values = [quoted or plain for quoted, plain in re.findall(r'"([^"]*)"|(\S+)', line)]
        if not values:
            continue
        if len(values) != len(names):
            raise PictureError(
                f"data line {number} has {len(values)} values, its format names {len(names)}",
                where=where,
                mend="Save the file again from the program that measured it",
            )
        table.append(dict(zip(names, values, strict=True)))
    head = text[: text.index("BEGIN_DATA")]
    return table, "D65" in head and "D50" not in head


def _csv(text: str, where: str) -> tuple[list[dict[str, str]], bool]:
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        return [], False
    comma = max(",;\t", key=lines[0].count)
    reader = csv.DictReader(io.StringIO("\n".join(lines)), delimiter=comma)
    table = []
    for number, line in enumerate(reader, 2):
        if None in line or None in line.values():
            raise PictureError(
                f"line {number} has another number of columns than the header", where=where, mend=_MEND
            )
        table.append({key.strip().upper(): cell.strip() for key, cell in line.items()})
    lights = {line.get("ILLUMINANT", "D50").upper() for line in table}
    if not lights <= {"D50", "D65"} or len(lights) > 1:
        raise PictureError(
            f"illuminant {', '.join(sorted(lights))} is not known",
            where=where,
            mend="Give D50 or D65, one for all",
        )
    return table, lights == {"D65"}


def _name(line: dict[str, str], where: str, number: int) -> str:
    for key in _NAMES:
        if line.get(key):
            return line[key]
    raise PictureError(f"patch {number} has no name", where=where, mend=_MEND)


def _xyz(line: dict[str, str], where: str, name: str, *, is_d65: bool) -> Array:
    """Return XYZ of one patch under the file's own light, white at Y = 1."""
    for keys in (("LAB_L", "LAB_A", "LAB_B"), ("L", "A", "B"), ("L*", "A*", "B*")):
        if all(key in line for key in keys):
            lab = np.array([_number(line[key], where, name) for key in keys])
            return _from_lab(lab) * (white() if is_d65 else np.array(D50_WHITE))
    for keys in (("XYZ_X", "XYZ_Y", "XYZ_Z"), ("X", "Y", "Z")):
        if all(key in line for key in keys):
            return np.array([_number(line[key], where, name) for key in keys]) / 100
    raise PictureError(f"patch {name!r} has neither Lab nor XYZ", where=where, mend=_MEND)


def _from_lab(lab: Array) -> Array:
    """Return XYZ over that of the white, from Lab."""
    fy = (lab[0] + 16) / 116  # numbers-in-code: ISO/CIE 11664-4:2019
    f = np.array([fy + lab[1] / 500, fy, fy - lab[2] / 200])  # numbers-in-code: ISO/CIE 11664-4:2019
    delta = 6 / 29  # numbers-in-code: ISO/CIE 11664-4:2019
    t = np.where(f > delta, f**3, 3 * delta**2 * (f - 4 / 29))  # numbers-in-code: ISO/CIE 11664-4:2019
    return np.asarray(t)


def _number(text: str, where: str, name: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise PictureError(f"patch {name!r}: {text!r} is not a number", where=where, mend=_MEND) from None


def _grid(table: list[dict[str, str]], names: tuple[str, ...]) -> NDArray[np.int64] | None:
    if all("ROW" in line and "COLUMN" in line for line in table):
        try:
            out = np.array([(int(line["ROW"]), int(line["COLUMN"])) for line in table])
        except ValueError:
            return None
        return np.asarray(out - out.min(axis=0), dtype=np.int64)
    found = [_PLACE.fullmatch(name.upper()) for name in names]
    if any(match is None for match in found):
        return None
    places = [(_letters(match[1]), int(match[2])) for match in found if match is not None]
    out = np.array(places)
    return np.asarray(out - out.min(axis=0), dtype=np.int64)


def _letters(text: str) -> int:
    """Return A = 0, B = 1, ..., Z = 25, AA = 26: as spreadsheets count."""
    total = 0
    for letter in text:
        total = total * (ord("Z") - ord("A") + 1) + ord(letter) - ord("A") + 1
    return total - 1
