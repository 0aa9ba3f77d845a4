"""The first five minutes: the few steps from an empty bench to the first counsel, and which of them are done."""

from __future__ import annotations

import attrs

from inkhorn.web.standing import Standing

_MIXED = frozenset({"add", "weather", "neutralise"})


@attrs.frozen(kw_only=True)
class Steps:
    """Which steps are done: the page shown, a liquor in a vessel, iron in it, a mark made, a mark photographed."""

    page: bool
    liquor: bool
    iron: bool
    mark: bool
    seen: bool

    @property
    def over(self) -> bool:
        """Whether nobody needs the list any more."""
        return self.page and self.mark and self.seen


def steps(now: Standing) -> Steps:
    """Return which of the first steps are done."""
    kinds = {line.kind for line in now.standing}
    seen = any(
        line.kind == "reading" and str(line.raw.get("of", "")).startswith("trial:") for line in now.standing
    )
    return Steps(
        page=bool(now.bench.exemplars),
        liquor=bool(now.bench.vessels),
        iron=bool(kinds & _MIXED) or "bring" in kinds,
        mark=bool(now.bench.trials),
        seen=seen,
    )
