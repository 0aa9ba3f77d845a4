"""Computed colours as the page shows them: L*a*b* to what a screen is told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from inkhorn.colour.lab import lab_to_linear
from inkhorn.colour.srgb import encode_bytes
from inkhorn.handbook.load import value

Lab = tuple[float, float, float]
_AXES = ("L", "a", "b")


def hex_of(lab: Lab) -> str:
    """Return an L*a*b* colour (D65) as ``#rrggbb``, clipped to what a screen can show."""
    red, green, blue = encode_bytes(lab_to_linear(lab)).tolist()
    return f"#{red:02x}{green:02x}{blue:02x}"


def skin(material: str) -> Lab:
    """Return the handbook's bare colour of a support, by its handbook name."""
    light, a, b = (value(f"supports.{material}.{axis}") for axis in _AXES)
    return light, a, b


@attrs.frozen(kw_only=True)
class Swatch:
    """An ink's dry colour with what is not known of it: paler, likeliest and darker.

    The three share the likeliest a* and b*; the lightness runs over its band.
    """

    paler: str
    likely: str
    darker: str
    sure: bool

    @classmethod
    def of(cls, figures: Mapping[str, Any]) -> Swatch:
        """Make a swatch from the ``dry_lab`` of a vessel's estimate."""
        a, b = (float(figures[axis]["median"]) for axis in _AXES[1:])
        light = figures["L"]
        paler, likely, darker = (hex_of((float(light[key]), a, b)) for key in ("p95", "median", "p05"))
        # Two just noticeable steps of lightness either way look like one colour.
        return cls(
            paler=paler, likely=likely, darker=darker, sure=float(light["p95"]) - float(light["p05"]) < 4
        )


def writes(vessel: Mapping[str, Any]) -> bool:
    """Tell whether a vessel's liquor would leave a mark that can be seen."""
    densities = vessel.get("dry_optical_density") or {}
    return any(float(figure["median"]) > 0.02 for figure in densities.values())
