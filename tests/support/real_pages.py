"""Real scans of pen-written pages, fetched by pip into a cache outside the repository, never kept in it.

The source distribution of htrflow 0.2.6 carries scans of letters and
certificates of 1773 to 1882 as its documentation's examples (their text is in
the public domain). They are used to see that the reader holds on real pages.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

import pytest

NAME, SHA256_STARTS = "htrflow-0.2.6", "6b27ba964af39ce9"
LETTER = f"{NAME}/docs/examples/451511_1512_01.jpg"
CERTIFICATE = f"{NAME}/docs/examples/A0062408_00006.jpg"
PHONE = f"{NAME}/docs/assets/demo_image.jpg"


def real_page(member: str) -> bytes:
    """Return a file of the distribution; skip the test if it cannot be fetched.

    With ``INKHORN_REQUIRE_REAL=1`` a page that cannot be had is a failure.
    """
    folder = Path(os.environ.get("INKHORN_REAL_CACHE", Path(tempfile.gettempdir()) / "inkhorn-real-pages"))
    archive = folder / f"{NAME}.tar.gz"
    if not archive.exists():
        _fetch(folder)
    if not archive.exists():
        message = f"real pages could not be fetched into {folder}: is the package index reachable?"
        if os.environ.get("INKHORN_REQUIRE_REAL") == "1":
            pytest.fail(message)
        pytest.skip(message)
    assert hashlib.sha256(archive.read_bytes()).hexdigest().startswith(SHA256_STARTS)
    with tarfile.open(archive) as bundle:
        found = bundle.extractfile(member)
        assert found is not None
        return found.read()


def _fetch(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    command = [
        sys.executable,
        "-m",
        "pip",
        "download",
        "-q",
        "--no-deps",
        "--no-binary=:all:",
        "htrflow==0.2.6",
    ]
    with tempfile.TemporaryDirectory() as place:
        done = subprocess.run([*command, "-d", place], capture_output=True, timeout=300, check=False)
        got = Path(place) / f"{NAME}.tar.gz"
        if done.returncode == 0 and got.exists():
            part = folder / f"{NAME}.part"
            part.write_bytes(got.read_bytes())
            part.replace(folder / f"{NAME}.tar.gz")
