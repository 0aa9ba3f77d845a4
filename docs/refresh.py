"""Run the commands that the README and the tutorial show, and paste what comes back: ``make docs``.

Only boxes tagged ``about`` are renewed: estimated figures, which move as the
model is mended. What must come back word for word is left to the tests.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from support import pages  # noqa: E402 - found only now

#: What the README shows, in order.
SHOWN = ("inkhorn demo saltmere --no-serve", "inkhorn estimate saltmere")


def _said(command: str, folder: Path) -> str:
    done = pages.run(command, folder)
    if done.returncode:
        sys.exit(f"{command}\n{done.stderr}")
    lines = done.stdout.replace(f"{folder.resolve()}/", "").strip().splitlines()
    return "".join(f"{line.rstrip()}\n" for line in lines)


def _renewed(page: Path, said: list[str]) -> None:
    """Put answers into the boxes tagged ``about``, in order."""
    text = page.read_text("utf-8")
    old = [box.text for box in pages.boxes(page) if box.tag == "about"]
    for before, after in zip(old, said, strict=True):
        text = text.replace(f"```text about\n{before}```", f"```text about\n{after}```", 1)
    page.write_text(text, "utf-8")


def main() -> None:
    """Renew both pages."""
    with tempfile.TemporaryDirectory() as folder:
        _renewed(ROOT / "README.md", [_said(command, Path(folder)) for command in SHOWN])
    page = ROOT / "docs" / "tutorial" / "saltmere.md"
    said = []
    with tempfile.TemporaryDirectory() as folder:
        for command, shown in pages.steps(page):
            if command.tag == "refused":
                continue
            answer = _said(command.text, Path(folder))
            if shown is not None and shown.tag == "about":
                said.append(answer)
    _renewed(page, said)


if __name__ == "__main__":
    main()
