"""inkhorn: from what a maker did and noticed to the next pour of iron-tannin ink."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from inkhorn.workshop import Workshop as Workshop

__version__ = "0.1.0"
__all__ = ["Workshop", "__version__"]


def __getattr__(name: str) -> Any:
    # The one lazy import of the package (PEP 562): `import inkhorn.flow` must
    # not load the database, and `from inkhorn import Workshop` must still work.
    if name == "Workshop":
        from inkhorn.workshop import Workshop  # noqa: PLC0415 (the one lazy import)

        return Workshop
    msg = f"module 'inkhorn' has no attribute {name!r}"
    raise AttributeError(msg)
