"""Set up the invented Saltmere roll as a workshop of its own: ``build(folder)``."""

from __future__ import annotations

import tempfile
from pathlib import Path

from inkhorn.demo.story import EXEMPLAR, NOTICE, POT, SEED, Roll, entries, make
from inkhorn.workshop import Workshop

__all__ = ["EXEMPLAR", "NOTICE", "POT", "SEED", "Roll", "build", "entries", "make"]


def build(folder: Path, seed: int = SEED) -> Workshop:
    """Create a workshop in ``folder`` and record the invented roll in it, pictures and original included.

    Parameters
    ----------
    folder : Path
        Where the workshop goes; it must not hold one yet.
    seed : int
        Which make-believe truth tells the story.

    Returns
    -------
    Workshop
        Open, with some thirty entries, five photographs and the exemplar ``saltmere-roll``.
    """
    workshop = Workshop.create(folder)
    with tempfile.TemporaryDirectory() as pictures:
        for entry in entries(Path(pictures), seed):
            workshop.record(entry)
    return workshop
