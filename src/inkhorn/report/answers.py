"""What a workshop says back: a receipt for an entry, a comparison with its pictures on disk."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import attrs
from PIL import Image

from inkhorn.compare import compare as comparing
from inkhorn.compare.compose import png
from inkhorn.daybook.book import Recorded
from inkhorn.report import lines
from inkhorn.report.sides import file_name


@attrs.frozen(kw_only=True)
class Receipt:
    """What is said back at once when an entry was recorded."""

    number: int
    sentence: str
    notices: tuple[str, ...]
    flags: tuple[str, ...]
    cautions: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "number": self.number,
            "sentence": self.sentence,
            "notices": list(self.notices),
            "flags": list(self.flags),
            "cautions": list(self.cautions),
        }


def again(book: Iterable[Recorded], number: int) -> Receipt:
    """Return the receipt of an entry that was sent before: what it says, and that it is kept once."""
    raw = next(line.raw for line in book if line.number == number)
    return Receipt(
        number=number,
        sentence=lines.sentence(raw) + ".",
        notices=("This had arrived before; it is kept once.",),
        flags=(),
    )


@attrs.frozen(kw_only=True)
class Comparison:
    """A trial beside an exemplar: the difference shared out, and where its picture lies."""

    trial: str
    exemplar: str
    sentence: str
    shares: Mapping[str, Any]
    picture: Path
    panels: tuple[tuple[str, Path], ...] = ()
    notices: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        head = {"trial": self.trial, "exemplar": self.exemplar, "sentence": self.sentence}
        panels = [{"caption": caption, "picture": str(path)} for caption, path in self.panels]
        return {**head, **self.shares, "picture": str(self.picture), "panels": panels} | (
            {"notices": list(self.notices)} if self.notices else {}
        )


def saved(
    found: comparing.Comparison, folder: Path, trial: str, exemplar: str, notices: tuple[str, ...] = ()
) -> Comparison:
    """Write the pictures of a comparison into a folder and return it with their places."""
    folder.mkdir(exist_ok=True)
    stem = f"{file_name(trial)}-beside-{file_name(exemplar)}"
    place = folder / f"{stem}.png"
    place.write_bytes(found.page)
    panels = []
    for n, panel in enumerate(found.panels):
        part = folder / f"{stem}-{n}.png"
        part.write_bytes(png(Image.fromarray(panel.picture)))
        panels.append((panel.caption, part.resolve()))
    return Comparison(
        trial=trial,
        exemplar=exemplar,
        sentence=found.sentence,
        shares={k: v for k, v in found.to_dict().items() if k != "sentence"},
        picture=place.resolve(),
        panels=tuple(panels),
        notices=notices,
    )
