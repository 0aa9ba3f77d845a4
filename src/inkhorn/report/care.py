"""The cautions that go with an entry as it is recorded."""

from __future__ import annotations

from inkhorn.daybook.entries import Entry
from inkhorn.daybook.inventory import Inventory
from inkhorn.handbook.cautions import cautions_for

#: Entries that do nothing with a vessel's content.
_LOOKS = ("reading", "remark", "amend", "void", "mark", "support", "pen")


def cautions_of(entry: Entry, shelf: Inventory) -> tuple[str, ...]:
    """Return the cautions of one entry: of the step, of what it handles, of the vessel's metal.

    Parameters
    ----------
    entry : Entry
    shelf : Inventory
        The bench with this entry done, so that what it names is there.
    """
    if entry.kind in _LOOKS:
        return ()
    said = {
        "kind": entry.kind,
        "how": getattr(entry, "how", None),
        "made_of": getattr(entry, "made_of", None),
    }
    materials = [str(m) for m in (getattr(entry, "material", None),) if m]
    if lot := shelf.lots.get(str(getattr(entry, "lot", None))):
        materials += [lot.material] if lot.material else []
    vessels = (shelf.vessels.get(str(getattr(entry, key, None))) for key in ("vessel", "into", "name"))
    metals = [v.made_of for v in vessels if v is not None and v.made_of]
    if metals and not said["made_of"]:
        said["made_of"] = " ".join(metals)
    return cautions_for({key: value for key, value in said.items() if value}, dict.fromkeys(materials))
