"""What a complaint is about: the pot, and the stroke on its skin where one is meant."""

from __future__ import annotations

import attrs
import numpy as np

from inkhorn.daybook.entries import Add, Entry, Mark, Pour, Reading, Steep
from inkhorn.daybook.inventory import Inventory
from inkhorn.errors import CounselError
from inkhorn.estimate.contents import usual_hand
from inkhorn.estimate.posterior import Posterior
from inkhorn.replay import composition, dissolve
from inkhorn.replay.draws import Draws
from inkhorn.replay.fold import Plan
from inkhorn.replay.liquor import NOTHING, Array
from inkhorn.replay.world import VesselState

ML_PER_L = 1000.0


@attrs.frozen(kw_only=True, eq=False)
class Asked:
    """One pot with its draws, and how it was written with.

    Parameters
    ----------
    support : str
        What it was last written on; "" where nothing was.
    pen_kind : str or None
        Handbook key of the pen's cut.
    seconds : float or None
        Age of the stroke at the last entry of the daybook; None where no trial is meant.
    waters : tuple of str
        Handbook keys of the liquids that came into the pot.
    salts : tuple of (str, str)
        Lots of iron salt that came into it, with their materials.
    taken : frozenset of str
        Readings of the pot since something was last done to it.
    mould_seen : bool
        Whether the last look at the top, of this pot or of one that went into it, showed mould.
    """

    post: Posterior
    vessel: str
    state: VesselState
    support: str
    pen_kind: str | None
    seconds: float | None
    waters: tuple[str, ...]
    salts: tuple[tuple[str, str], ...]
    taken: frozenset[str]
    mould_seen: bool

    @property
    def draws(self) -> Draws:
        """Return the draws of the estimate."""
        return self.post.draws

    @property
    def per_litre(self) -> Array:
        """Return one over the volume, 1/L, (N,)."""
        ml = composition.volume(self.state.liquor, self.state.temperature)
        return np.asarray(ML_PER_L / np.maximum(ml, NOTHING))


def vessel_meant(things: Inventory, vessel: str | None, trial: str | None) -> str | None:
    """Return the vessel that a complaint is about; None where the daybook has none at all.

    Raises
    ------
    CounselError
        If the vessel or trial named is unknown, or none is named and there are several.
    """
    if trial is not None:
        if trial not in things.trials:
            raise CounselError(f"there is no trial {trial!r}", mend=f"Known: {_listed(things.trials)}")
        return things.trials[trial].vessel
    if vessel is not None:
        if vessel not in things.vessels:
            raise CounselError(f"there is no vessel {vessel!r}", mend=f"Known: {_listed(things.vessels)}")
        return vessel
    written = {t.vessel: None for t in things.trials.values() if t.vessel}
    candidates = list(written or things.vessels)
    if len(candidates) > 1:
        raise CounselError(
            "there is more than one vessel", where="--vessel", mend=f"Name one of {_listed(candidates)}"
        )
    return candidates[0] if candidates else None


def _listed(names: object) -> str:
    return ", ".join(str(n) for n in names) or "none yet"  # type: ignore[attr-defined]


def look(post: Posterior, vessel: str, trial: str | None) -> Asked | None:
    """Return what is known of a pot; None where nothing can be told of what is in it."""
    state = post.played.world.vessels.get(vessel)
    if state is None or state.withheld:
        return None
    if not np.median(composition.volume(state.liquor, state.temperature)) > 0:
        return None
    plan = post.problem.plan
    mark = _mark_of(plan, trial)
    hand = usual_hand(vessel, plan)
    pen = plan.shelf.pens.get(mark.pen) if mark and mark.pen else None
    sources = _sources(plan, vessel)
    return Asked(
        post=post,
        vessel=vessel,
        state=state,
        support=mark.support if mark else hand.support,
        pen_kind=(pen.material if pen else None) if mark else hand.pen_kind,
        seconds=None if mark is None else (plan.entries[-1].entry.at - mark.at).total_seconds(),
        waters=_waters(plan, sources),
        salts=_salts(plan, sources),
        taken=_taken(plan, vessel),
        mould_seen=any(_mould_seen(plan, source) for source in sources),
    )


def _mark_of(plan: Plan, trial: str | None) -> Mark | None:
    marks = [e.entry for e in plan.entries if isinstance(e.entry, Mark) and e.entry.trial == trial]
    return marks[-1] if marks else None


def _goes_into(entry: Entry) -> str | None:
    return getattr(entry, "into", None)


def _sources(plan: Plan, vessel: str) -> frozenset[str]:
    """Return a vessel and every vessel whose liquor has come into it."""
    known = {vessel}
    for item in reversed(plan.entries):
        comes_from = getattr(item.entry, "from_", None) or (
            getattr(item.entry, "vessel", None) if item.entry.kind == "strain" else None
        )
        if comes_from and _goes_into(item.entry) in known:
            known.add(str(comes_from))
    return frozenset(known)


def _waters(plan: Plan, sources: frozenset[str]) -> tuple[str, ...]:
    said = [
        item.entry.liquid
        for item in plan.entries
        if isinstance(item.entry, Add | Steep) and item.entry.liquid and item.entry.into in sources
    ]
    return tuple(dict.fromkeys(said))


def _salts(plan: Plan, sources: frozenset[str]) -> tuple[tuple[str, str], ...]:
    lots = [
        item.entry.lot
        for item in plan.entries
        if isinstance(item.entry, Add) and item.entry.lot and item.entry.into in sources
    ]
    materials = {lot: plan.scene.lots.get(lot, "") for lot in dict.fromkeys(lots)}
    return tuple(
        (lot, m)
        for lot, m in materials.items()
        if dissolve.is_material(m) and dissolve.role(m) == "iron salt"
    )


def _mould_seen(plan: Plan, vessel: str) -> bool:
    looks = [
        item.entry.value
        for item in plan.entries
        if isinstance(item.entry, Reading)
        and item.entry.what == "surface"
        and item.entry.of == f"vessel:{vessel}"
    ]
    return bool(looks) and str(looks[-1]).startswith("mould")


def _taken(plan: Plan, vessel: str) -> frozenset[str]:
    """Return the readings of a vessel since the last thing done to it, marks and waiting apart."""
    out: set[str] = set()
    for item in plan.entries:
        entry = item.entry
        if isinstance(entry, Reading):
            if entry.of == f"vessel:{vessel}":
                out.add(entry.what)
        elif not isinstance(entry, Mark) and vessel in (
            _goes_into(entry),
            getattr(entry, "vessel", None),
            entry.from_ if isinstance(entry, Pour) else None,
        ):
            out.clear()
    return frozenset(out)
