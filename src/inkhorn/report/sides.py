"""The two sides of a comparison, from what a daybook holds of a trial and of an original."""

from __future__ import annotations

import re
from pathlib import Path

import attrs
import numpy as np

from inkhorn.compare import sides
from inkhorn.compare.photos import photo_side
from inkhorn.compare.picture import Sheet
from inkhorn.daybook.entries import Reading
from inkhorn.errors import CounselError
from inkhorn.imaging.photo import read_photo
from inkhorn.replay import predict
from inkhorn.replay.fold import Plan
from inkhorn.replay.liquor import Array


@attrs.frozen(kw_only=True, eq=False)
class Seen:
    """One side with its pixels, where there is a picture."""

    side: sides.Side
    sheet: Sheet | None


def gather(plan: Plan, sort: str, name: str, picture: Path | None) -> Seen:
    """Return one side: from its newest photograph, else from densities that were given.

    Parameters
    ----------
    sort : str
        ``"trial"`` or ``"exemplar"``.

    Raises
    ------
    CounselError
        Neither a photograph nor a density is known.
    """
    prior, prior_sd = _skin(plan, sort, name)
    if picture is not None:
        seen = read_photo(picture)
        side, sheet = photo_side(seen.picture, seen.maps, seen.reading, prior=prior, prior_sd=prior_sd)
        return Seen(side=side, sheet=sheet)
    for line in reversed(plan.entries):
        entry = line.entry
        if isinstance(entry, Reading) and entry.of == f"{sort}:{name}":
            measure = predict.measure_of(line.number, entry, plan.scene.photos)
            if measure is not None:
                sd = np.sqrt(np.diag(measure.covariance))
                return Seen(
                    side=sides.from_numbers(measure.density, sd, lab=prior, lab_sd=prior_sd), sheet=None
                )
    raise CounselError(
        f"nothing was measured of {sort} {name!r} yet",
        mend="Photograph it, or record its optical_density",
    )


def _skin(plan: Plan, sort: str, name: str) -> tuple[Array | None, Array | None]:
    """Return what is believed of the colour of a side's bare support, and how surely."""
    if sort == "exemplar":
        for line in reversed(plan.entries):
            entry = line.entry
            if isinstance(entry, Reading) and entry.of == f"exemplar:{name}" and entry.what == "support_lab":
                return predict.triple(entry), None
        return None, None
    support = plan.shelf.trials[name].support
    thing = plan.shelf.supports.get(support) if support else None
    if thing is None or thing.material is None:
        return None, None
    return sides.support_skin(thing.material)


def file_name(name: str) -> str:
    """Return a name fit for a file: letters, digits and hyphens."""
    return re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "unnamed"
