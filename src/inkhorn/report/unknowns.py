"""Plain names of the unknowns: ``lot:sumac-leaf/tannin`` is the tannin in the sumac leaf.

>>> plain("lot:sumac-leaf/tannin")
'tannin in the sumac leaf'
>>> plain("entry:11/liquid_amount", {11: {"kind": "steep", "liquid_amount": "about 5 L"}})
'"about 5 L" of entry 11'
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from inkhorn.daybook.names import said

#: Who those are that did not say who they were.
NOBODY = "somebody"
_CHANNEL = {"R": "red", "G": "green", "B": "blue"}
_PART = {"gallic": "gallic acid", "condensed": "bark tannin"}
_KIND = {"pyrogallol": "gall and leaf tannin", "catechol": "bark tannin"}
_EYE = {"volume": "volumes", "mass": "weights", "fraction": "shares"}

#: Name of an unknown (a pattern) and what a maker calls it; parts of the name in braces.
_NAMES: tuple[tuple[str, str], ...] = (
    # Lots
    (r"lot:(?P<lot>[^/]+)/tannin", "tannin in the {lot}"),
    (r"lot:(?P<lot>[^/]+)/iron", "iron in the {lot}"),
    (r"lot:(?P<lot>[^/]+)/ferric", "share of the iron of the {lot} that has turned"),
    (r"lot:(?P<lot>[^/]+)/soluble", "share of the {lot} that dissolves"),
    (r"lot:(?P<lot>[^/]+)/intrinsic", "thickening power of the {lot}"),
    (r"lot:(?P<lot>[^/]+)/purity", "tannin among all that dissolves of the {lot}"),
    (r"lot:(?P<lot>[^/]+)/gallic", "free gallic acid in the {lot}"),
    (r"lot:(?P<lot>[^/]+)/gallo_share", "how much of the tannin of the {lot} is of the gall kind"),
    (r"lot:(?P<lot>[^/]+)/pyrogallol_share", "how much of the tannin of the {lot} is not of the bark kind"),
    (r"lot:(?P<lot>[^/]+)/inert", "what is no salt in the {lot}"),
    (r"lot:(?P<lot>[^/]+)/moisture", "moisture of the {lot}"),
    (r"lot:(?P<lot>[^/]+)/fresh_water", "water in the fresh {lot}"),
    (r"lot:(?P<lot>[^/]+)/bulk_density", "weight of a measure of the {lot}"),
    (r"lot:(?P<lot>[^/]+)/mass", "how much {lot} there was"),
    (r"lot:(?P<lot>[^/]+)/washing\..*", "share of the {lot} that washes out at once"),
    (r"lot:(?P<lot>[^/]+)/radius\..*", "size of the pieces of the {lot}"),
    (r"lot:(?P<lot>[^/]+)/competes", "water that the {lot} competes with for its own tannin"),
    (r"lot:(?P<lot>[^/]+)/(slow|surface)", "how quickly weak acid eats the {lot}"),
    (r"lot:(?P<lot>[^/]+)/brown", "how brown the {lot} brews"),
    (r"lot:(?P<lot>[^/]+)/reach", "share of the {lot} that the water can reach"),
    (r"lot:(?P<lot>[^/]+)/held", "liquor that the spent {lot} holds back"),
    (r"lot:(?P<lot>[^/]+)/sulfide", "sulfide in the {lot}"),
    (r"lot:(?P<lot>[^/]+)/ready", "salt already on the {lot}"),
    (r"lot:(?P<lot>[^/]+)/(?P<part>\w*acid)", "acid in the {lot}"),
    (r"lot:(?P<lot>[^/]+)/weathering", "how quickly the {lot} weathers"),
    (r"lot:(?P<lot>[^/]+)/mother_liquor", "mother liquor on the {lot}"),
    (r"lot:(?P<lot>[^/]+)/tetrahydrate", "share of the {lot} that has lost water"),
    (r"lot:(?P<lot>[^/]+)/(?P<part>\w+)", "{part} of the {lot}"),
    (r"source:(?P<lot>[^@]+)@(?P<name>[^/]+)/(?P<part>\w+)", "{part} common to the {lot} from {name}"),
    (r"liquid:(?P<lot>[^/]+)/(?P<part>.+)", "{part} of the {lot}"),
    # Amounts
    (r"entry:(?P<n>\d+)/to", "how far entry {n} boiled down"),
    (r"entry:(?P<n>\d+)/level", "how true the level of entry {n} was"),
    (r"entry:(?P<n>\d+)/for", "how long entry {n} took"),
    (r"entry:(?P<n>\d+)/(?P<part>\w+)", "{part} of entry {n}"),
    # People
    (r"who:(?P<who>[^/]+)/(?P<eye>volume|mass|fraction)", "how {who} judges {eye} by eye"),
    (r"who:(?P<who>[^/]+)/(?P<part>\w+)\.shift", "where {who} sets words about {part}"),
    (r"who:(?P<who>[^/]+)/(?P<part>\w+)\.stretch", "how finely {who} tells words about {part} apart"),
    # Marks
    (r"trial:(?P<name>[^/]+)/load", "how much more ink than usual lies in {name}"),
    (r"pen:(?P<name>[^/]+)/film", "ink that the pen {name} lays"),
    (r"pen:(?P<name>[^/]+)/width", "width of the pen {name}"),
    (r"pen:(?P<name>[^/]+)/broad", "how broad the hand writes with {name}"),
    (r"pen/exponent", "how much more a pen lays of a thicker ink"),
    (r"method:dip/film", "ink that dipping leaves"),
    (r"method:drop/film", "ink in a drop that has spread"),
    (r"method:(?P<name>[^/]+)/film", "ink that a {name} lays"),
    (r"support:(?P<name>[^/]+)/chalk", "chalk in the skin {name}"),
    (r"support:(?P<name>[^/]+)/uptake", "thirst of the skin {name}"),
    (r"support:(?P<name>[^/]+)/(?P<part>\w+)", "colour ({part}) of the skin {name}"),
    (r"support/chalk\.(?P<part>\w+)", "chalk of a {part} skin"),
    (r"line/run", "how far ink creeps into a skin"),
    (r"line/.*", "raggedness of a line"),
    # The ink and its look
    (r"misfit/hue\.(?P<channel>[RGB])", "how dark in {channel} this ink is, against the handbook's"),
    (r"misfit/viscosity", "how thick this ink is, against the handbook's"),
    (r"misfit/thickening", "how fast this ink thickens, against the handbook's"),
    (r"misfit/ph", "how much less sour this ink is than reckoned"),
    (r"misfit/gravity", "weight of this ink against water, beside what is reckoned"),
    (r"misfit/residue", "dry residue, against what is reckoned"),
    (r"misfit/phenols", "tannin by assay, against what is reckoned"),
    (r"ink/strength\.gallate", "blackness of iron with gall and leaf tannin"),
    (r"ink/strength\.catecholate", "blackness of iron with bark tannin"),
    (r"ink/strength\.brown", "brownness of all else that dissolves"),
    (r"ink/sites\.(?P<part>\w+)", "iron that the {part} can hold"),
    (r"ink/slack", "how sharply the tannin fills up with iron"),
    (r"ink/rust", "brownness of iron that no tannin holds"),
    (r"ink/darkening\.tau", "time that a stroke takes to darken"),
    (r"ink/darkening\.stretch", "how drawn out the darkening is"),
    (r"ink/darkening\.start", "share of the colour that is there at once"),
    (r"ink/tension", "surface tension of the ink"),
    (r"ink/martin", "how fast gum thickens as there is more"),
    (r"ink/gel_thickening", "thickening by swollen gum"),
    (r"ink/solids_thickening", "thickening by all that is dissolved"),
    (r"ink/solids_acid", "acid in what dissolves of plants"),
    (r"film/(?P<kind>pyrogallol|catechol)\.midpoint", "sourness at which {kind} takes up half its iron"),
    (r"film/(?P<kind>pyrogallol|catechol)\.slope", "how sharply sourness keeps iron from {kind}"),
    (r"film/protons", "acid that iron sets free as it binds"),
    (r"film/bisulfate", "acid of the sulfate in a drying stroke"),
    (r"film/chalked_ph", "sourness that a chalky skin leaves"),
    (r"surface/k[12]", "gloss of the surface"),
    (r"exemplar:(?P<name>[^/]+)/axis\.\d", "how the page {name} was measured"),
    (r"exemplar/aged", "how far the page has browned"),
    (r"exemplar/brown_gain", "how much colour browning leaves"),
    # The bench
    (r"bench/room", "warmth of the room"),
    (r"bench/evaporation", "how quickly an open pot dries"),
    (r"bench/drying\.\w+", "how quickly a covered pot dries"),
    (r"bench/open_area", "open surface of the pots"),
    (r"bench/read_hot", "whether boiled levels were read hot"),
    (r"bench/stuck", "what sticks to a vessel"),
    (r"pot/oxidation", "how quickly iron turns in the pot"),
    (r"pot/mould_covered", "how much a lid slows mould"),
    (r"pot/mould_loss", "how quickly mould eats tannin"),
    (r"pot/mould_onset", "time until a liquor moulds"),
    (r"pot/mould_onset\.ink", "time until an ink moulds"),
    (r"pot/mould\w*", "how quickly mould splits tannin"),
    (r"pot/browning", "how fast boiling browns tannin"),
    (r"pot/browned", "how dark browned tannin is"),
    (r"pot/crust", "what boiling leaves on the wall"),
    (r"pot/deposit", "mud from boiling down"),
    (r"pot/phlobaphene", "how fast bark tannin falls out"),
    (r"pot/boiling_hydrolysis", "how fast boiling splits tannin"),
    (r"pot/cooling", "how quickly a pot cools"),
    (r"pot/(?P<name>\w+)_wall", "how quickly a wall of {name} dissolves"),
    (r"heat/simmer", "strength of a simmer"),
    (r"metal/(?P<part>\w+)", "how quickly metal dissolves"),
    (r"heap/(?P<part>\w+)", "weathering of the heap ({part})"),
    (r"soak/diffusivity", "how quickly tannin leaves the pieces"),
    (r"soak/energy", "how much warmth speeds steeping"),
    (r"tip:(?P<name>[^/]+)/radius", "width of the tip of the {name}"),
    (r"device:(?P<name>[^/]+)/(?P<part>\w+)", "how the {name} runs out ({part})"),
    (r"refractometer/.*", "what a refractometer makes of plant matter and salts"),
)
_TOLD = re.compile(r"entry:(?P<n>\d+)/(?P<key>\w+)")
_PATTERNS = tuple((re.compile(pattern), name) for pattern, name in _NAMES)


def plain(name: str, entries: Mapping[int, Mapping[str, Any]] | None = None) -> str:
    """Return what a maker calls an unknown; its own name, marks taken out, where the table has none.

    Parameters
    ----------
    entries : mapping, optional
        The daybook's entries as they were written, by number: an amount is then called by what was said.
    """
    told = _TOLD.fullmatch(name)
    if told and entries is not None:
        said_there = entries.get(int(told["n"]), {}).get(told["key"])
        if isinstance(said_there, str):
            return f'"{said_there}" of entry {told["n"]}'
    for pattern, text in _PATTERNS:
        found = pattern.fullmatch(name)
        if found:
            return text.format_map({key: _word(key, given) for key, given in found.groupdict().items()})
    return re.sub(r"[:/._]+", " ", name)


def is_named(name: str) -> bool:
    """Tell whether the table has a name for an unknown."""
    return any(pattern.fullmatch(name) for pattern, _ in _PATTERNS)


def _word(key: str, given: str) -> str:
    tables: Mapping[str, Mapping[str, str]] = {"channel": _CHANNEL, "kind": _KIND, "eye": _EYE}
    if key in tables:
        return tables[key][given]
    if key == "who" and given == NOBODY:
        return "whoever wrote it"
    return _PART.get(given, said(given).replace("_", " "))
