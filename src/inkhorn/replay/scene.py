"""What predictions need beside the bench: supports, pens, lots, exemplars and pictures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import attrs
import numpy as np

from inkhorn.daybook.book import Recorded
from inkhorn.daybook.entries import Reading
from inkhorn.daybook.inventory import Inventory, Thing, volume_of_depth
from inkhorn.daybook.readings import channel_sd
from inkhorn.errors import EstimateError
from inkhorn.handbook.load import value
from inkhorn.optics import support as support_optics
from inkhorn.quantities import Quantity
from inkhorn.replay import ground, target
from inkhorn.replay.ground import Ground
from inkhorn.replay.liquor import Array
from inkhorn.replay.target import PhotoMeasure, Target


@attrs.frozen(kw_only=True, eq=False)
class Scene:
    """What predictions need beside the bench.

    Parameters
    ----------
    support_labs, supports : mapping
        Colour of each bare support, L*, a*, b*, and its reflectance.
    pens : mapping
        Handbook key of the cut of each pen.
    targets : mapping
        Exemplars of which something was measured.
    photos : mapping
        What was read from the picture of a reading, by its number.
    grounds : mapping
        How each support takes ink, and how surely its colour is known.
    widths : mapping
        Width of each pen's edge, where it was told.
    lots : mapping
        Handbook key of the material of each lot.
    vessels : mapping
        What was declared of each vessel: capacity and inner depth turn a depth into a volume.
    """

    support_labs: Mapping[str, Array]
    supports: Mapping[str, Array]
    pens: Mapping[str, str]
    targets: Mapping[str, Target]
    photos: Mapping[int, PhotoMeasure]
    grounds: Mapping[str, Ground] = MappingProxyType({})
    widths: Mapping[str, Quantity] = MappingProxyType({})
    lots: Mapping[str, str] = MappingProxyType({})
    vessels: Mapping[str, Thing] = MappingProxyType({})

    def in_ml(self, reading: Reading) -> Quantity | None:
        """Return a volume that was read as a depth, in ml; None where its vessel's measures are not known."""
        said, thing = reading.value, self.vessels.get(reading.subject[1])
        if not isinstance(said, Quantity) or thing is None or thing.capacity is None or thing.depth is None:
            return None
        return volume_of_depth(said, thing)


def make_scene(entries: Sequence[Recorded], shelf: Inventory, photos: Mapping[int, PhotoMeasure]) -> Scene:
    """Return the scene of a daybook: what was measured of a support or an exemplar is taken from its readings."""
    readings = [(e.number, e.entry) for e in entries if isinstance(e.entry, Reading)]
    grounds: dict[str, Ground] = {}
    for name, thing in shelf.supports.items():
        grounds[name] = _ground(name, thing, [r for _, r in readings if r.of == f"support:{name}"])
    targets: dict[str, Target] = {}
    for name in shelf.exemplars:
        goal = _target(name, [(n, r) for n, r in readings if r.of == f"exemplar:{name}"], photos)
        if goal is not None:
            targets[name] = goal
    labs = {name: g.lab for name, g in grounds.items()}
    return Scene(
        support_labs=MappingProxyType(labs),
        supports=MappingProxyType({n: support_optics.reflectance(lab) for n, lab in labs.items()}),
        pens=MappingProxyType({n: t.material or "goose-quill" for n, t in shelf.pens.items()}),
        targets=MappingProxyType(targets),
        photos=MappingProxyType(dict(photos)),
        grounds=MappingProxyType(grounds),
        widths=MappingProxyType({n: t.width for n, t in shelf.pens.items() if t.width is not None}),
        lots=MappingProxyType({n: t.material or "" for n, t in shelf.lots.items()}),
        vessels=MappingProxyType(dict(shelf.vessels)),
    )


def with_sides(shelf: Inventory, entries: Sequence[Recorded]) -> Inventory:
    """Return an inventory in which the side of each support is the one last read, where one was."""
    read = {
        e.entry.subject[1]: str(e.entry.value)
        for e in entries
        if isinstance(e.entry, Reading) and e.entry.what == "side" and e.entry.subject[0] == "support"
    }
    if not read:
        return shelf
    turned = {n: attrs.evolve(t, side=read.get(n, t.side)) for n, t in shelf.supports.items()}
    return attrs.evolve(shelf, supports=turned)


def _ground(name: str, thing: Thing, mine: Sequence[Reading]) -> Ground:
    kind = thing.material or "sheep-parchment"
    colours = [r for r in mine if r.what == "lab"]
    lab = triple(colours[-1]) if colours else target.default_support_lab(kind)
    sd = reading_sd(colours[-1]) if colours else target.default_support_sd(kind)
    return Ground(name=name, kind=kind, side=thing.side, lab=lab, lab_sd=sd)


def _target(
    name: str, mine: Sequence[tuple[int, Reading]], photos: Mapping[int, PhotoMeasure]
) -> Target | None:
    bare = [r for _, r in mine if r.what == "support_lab"]
    return target.make_target(name, exemplar_measures(mine, photos), triple(bare[-1]) if bare else None)


def exemplar_measures(
    mine: Sequence[tuple[int, Reading]], photos: Mapping[int, PhotoMeasure]
) -> list[PhotoMeasure]:
    """Return what the readings of one exemplar say of its ink: each picture once, however often it was given."""
    once: dict[object, tuple[int, Reading]] = {}
    for number, reading in mine:
        once[reading.value if reading.what == "photo" else number] = (number, reading)
    measures = [m for m in (measure_of(n, r, photos) for n, r in once.values()) if m is not None]
    bare = [r for _, r in mine if r.what == "support_lab"]
    known = (
        triple(bare[-1])
        if bare
        else next((m.support_lab for m in measures if m.support_lab is not None), None)
    )
    skin = target.default_support_lab() if known is None else known
    skin_sd = reading_sd(bare[-1]) if bare else target.default_support_sd()
    for number, reading in mine:
        if reading.what == "lab":
            measures.append(
                target.measure_of_lab(triple(reading), reading_sd(reading), skin, skin_sd, number)
            )
    return measures


def triple(reading: Reading) -> Array:
    """Return a reading's value of three components as an array, (3,)."""
    if not isinstance(reading.value, dict):
        raise EstimateError(f"the {reading.what} of {reading.of} has no three components")
    return np.array([float(v) for v in reading.value.values()])


def reading_sd(reading: Reading) -> Array:
    """Return the sd of a reading of three components, (3,); that of its instrument where none was given."""
    if reading.sd is None and reading.with_ is None and reading.what == "optical_density":
        return np.full(3, value("readings.density"))
    return np.array([float(v) for v in channel_sd(reading).values()])


def measure_of(number: int, reading: Reading, photos: Mapping[int, PhotoMeasure]) -> PhotoMeasure | None:
    """Return what a reading says of channel density, if anything."""
    if reading.what == "photo":
        found = photos.get(number)
        return None if found is None else attrs.evolve(found, called="photo", number=number)
    if reading.what == "optical_density":
        return PhotoMeasure(
            density=triple(reading),
            covariance=together(reading_sd(reading)),
            called="optical density",
            number=number,
        )
    return None


def together(sd: Array) -> Array:
    """Return the covariance (3, 3) of channel densities of which only the errors (3,) were told.

    Light, glare and where the edge of a stroke is drawn move all channels one way.
    """
    common = value("readings.density_common")
    return np.asarray(np.outer(sd, sd) * (common + (1 - common) * np.eye(len(sd))))


def usual_ground(scene: Scene, name: str) -> Ground:
    """Return how a support takes ink; one that nobody declared is sheep parchment."""
    return scene.grounds.get(name) or ground.usual(name)


def is_depth(reading: Reading) -> bool:
    """Say whether a reading tells a volume as a depth ("two fingers")."""
    return reading.what == "volume" and getattr(reading.value, "dimension", "") == "length"
