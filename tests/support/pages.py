"""Reading the manual: the boxes of a page, its links, and running its commands."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import attrs

import inkhorn

ROOT = Path(inkhorn.__file__).parents[2]
_BOX = re.compile(r"^```(\w*)(?: (\w+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)")


@attrs.frozen
class Box:
    """One fenced box of a page: its language, a further word, and what it holds."""

    language: str
    tag: str
    text: str


def boxes(page: Path) -> tuple[Box, ...]:
    """Return the boxes of a page in order."""
    return tuple(Box(m[1], m[2] or "", m[3]) for m in _BOX.finditer(page.read_text("utf-8")))


def links(page: Path) -> tuple[str, ...]:
    """Return where the links of a page lead, those inside boxes left out."""
    return tuple(_LINK.findall(_BOX.sub("", page.read_text("utf-8"))))


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the commands of one box in a folder, with this interpreter's own ``inkhorn`` first on the path."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    return subprocess.run(
        ["bash", "-c", f"set -eu\n{command}"],
        cwd=folder,
        env={**os.environ, "PATH": path, "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )


def steps(page: Path) -> Iterator[tuple[Box, Box | None]]:
    """Yield each box of commands with the box of output that follows it, if one does."""
    found = boxes(page)
    for box, after in zip(found, (*found[1:], None), strict=True):
        if box.language == "sh":
            yield box, after if after is not None and after.language == "text" else None
