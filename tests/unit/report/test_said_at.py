"""When a sentence was said, told by who says it."""

from __future__ import annotations

from pathlib import Path

import pytest

from inkhorn.errors import TimeError
from inkhorn.workshop import Workshop


@pytest.mark.parametrize("at", ["yesterday-ish", "2026-13-01T10:00", "2026-09-12"])
def test_a_bad_time_is_told_as_such(tmp_path: Path, at: str) -> None:
    """What is no date and time is refused with how to write it, and nothing is recorded."""
    workshop = Workshop.create(tmp_path / "here")
    with pytest.raises(TimeError, match="at") as refused:
        workshop.say("put 640 g of sumac leaf into the tub to soak", at=at)
    assert "T10:15" in refused.value.mend
    assert not list(workshop.daybook)
