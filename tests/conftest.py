"""Fixtures that many tests share: see ``tests/support/benches.py``."""

from __future__ import annotations

pytest_plugins = ("support.benches",)
