"""Originals of five kinds, from pale brown to blue-black, made independently of any pot on the bench."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inkhorn.simulate import nature, raw
from inkhorn.simulate.draws import Draws
from inkhorn.simulate.liquor import TANNINS, Liquor
from inkhorn.simulate.truth import Truth

#: Kinds, and the plants that their inks were made of.
KINDS: Mapping[str, tuple[str, ...]] = {
    "pale-brown": ("oak-bark", "alder-bark", "blackthorn-bark", "pomegranate-rind"),
    "brown": ("oak-galls", "oak-bark", "alder-cones", "sumac-leaf", "blackthorn-bark"),
    "grey": ("oak-galls", "sumac-leaf", "myrobalan", "alder-cones"),
    "black": ("oak-galls", "marble-galls", "sumac-leaf", "myrobalan"),
    "blue-black": ("oak-galls", "marble-galls", "sumac-leaf"),
}
SKINS = ("goat-parchment", "calf-parchment", "sheep-parchment", "rag-paper")
_PENS = ("quill", "reed")


def original_ink(n: Draws, kind: str) -> Liquor:
    """Return a litre of the ink of an original: another plant, iron and gum than the pot's."""
    deal = n.rng("original", kind)
    plant = str(deal.choice(KINDS[kind]))
    holds = raw.lot_of(plant, "old", 0.0, n).holds
    tannin = sum(holds[t] for t in TANNINS)
    grams = n(f"original.{kind}.tannin") / max(tannin, 1e-6)
    ink = raw.liquid_of("rainwater", 1000.0, n, celsius=n("air.room"))
    ink.gain(**{part: grams * share for part, share in holds.items() if part != "moisture"})
    ink.gain(brown=n(f"original.{kind}.brown") * grams * tannin)
    moles = n(f"original.{kind}.iron") * sum(nature.sites(ink, n))
    ink.gain(iron2=moles, sulfate=moles)
    gum = n(f"original.{kind}.gum")
    ink.gain(arabic=gum)
    ink.swell["arabic"] = n("flow.arabic", "old")
    return ink


def make_original(truth: Truth, name: str, kind: str) -> dict[str, Any]:
    """Write an original of a kind, let it age, and return what a maker could have measured of it."""
    n = truth.bench.n
    deal = n.rng("original skin", kind)
    support, pen = str(deal.choice(SKINS)), str(deal.choice(_PENS))
    ageing = n(f"original.{kind}.ageing")
    facts = truth.exemplar(name, original_ink(n, kind), support=support, ageing=ageing, pen=pen)
    # The pen of long ago lies on nobody's bench.
    truth.bench.pens.pop(pen, None)
    return facts
