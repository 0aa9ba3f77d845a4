"""The bench page against its budgets: cold start, weight, time of a page, pages a second while an estimate runs.

``python benchmarks/web.py`` records the invented roll and two hundred further remarks and readings in a folder of its own,
serves it in a process of its own on the loopback address, and asks as a telephone would. Absolute times are
those of this machine at this load.
"""

from __future__ import annotations

import contextlib
import gzip
import json
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.error import URLError
from urllib.request import Request, urlopen

import inkhorn
from inkhorn.demo import roll

ENTRIES = 200
PORT = 8399
HERE = f"http://127.0.0.1:{PORT}"
_GZIP = b"\x1f\x8b"  # the beginning of a gzip file (RFC 1952)
BUDGET = {"cold s": 2.5, "p95 ms": 60.0, "weight kB": 200.0, "per s": 50.0}


def build(folder: Path) -> int:
    """Record the invented roll, and remarks on top until there are two hundred entries."""
    with roll.build(folder) as workshop:
        at = max(line.entry.at for line in workshop.daybook)
        while len(workshop.daybook) < ENTRIES:
            n = len(workshop.daybook)
            workshop.record({"at": f"{at.date()}T23:{n % 60:02d}", "kind": "remark", "text": f"remark {n}"})
        workshop.estimate()
        return len(workshop.daybook)


def get(path: str) -> bytes:
    """Fetch one address; return what came over the wire."""
    with urlopen(Request(HERE + path, headers={"accept-encoding": "gzip"}), timeout=60) as answer:  # noqa: S310
        body: bytes = answer.read()
        return body


def post(entry: dict[str, str]) -> None:
    """Record one entry."""
    headers = {"content-type": "application/json"}
    urlopen(Request(f"{HERE}/api/record", json.dumps(entry).encode(), headers), timeout=60).close()  # noqa: S310


@contextlib.contextmanager
def bench(folder: Path) -> Iterator[float]:
    """Serve a workshop in a process of its own; yield how long it took from start to the first page."""
    run = "from inkhorn.cli.main import main; main()"
    command = [sys.executable, "-c", run, "bench", str(folder), "--port", str(PORT), "--no-browser"]
    began = time.perf_counter()
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL)  # noqa: S603
    try:
        while server.poll() is None:
            try:
                get("/")
                break
            except (URLError, ConnectionError):
                time.sleep(0.02)
        yield time.perf_counter() - began
    finally:
        server.terminate()
        server.wait(20)


def settle() -> None:
    """Wait until nothing is being worked out."""
    while json.loads(unpacked(get("/api/status")))["working"]:
        get("/")
        time.sleep(0.3)


def timed(path: str, times: int) -> list[float]:
    """Return how long an address takes, in ms, one request after the other."""
    out = []
    for _ in range(times):
        began = time.perf_counter()
        get(path)
        out.append(1000 * (time.perf_counter() - began))
    return sorted(out)


def weight() -> tuple[float, float]:
    """Return the kB of the page and all it asks for save pictures: unpacked, and as sent."""
    page = get("/")
    parts = [*re.findall(rb'(?:href|src)="(/(?:static|manifest)[^"]*)"', unpacked(page)), b"/boxes"]
    bodies = [page, *(get(part.decode()) for part in dict.fromkeys(parts))]
    return sum(len(unpacked(body)) for body in bodies) / 1000, sum(map(len, bodies)) / 1000


def unpacked(body: bytes) -> bytes:
    """Return an answer as the browser reads it."""
    return gzip.decompress(body) if body.startswith(_GZIP) else body


def under_load(seconds: float = 8.0) -> tuple[float, float, bool]:
    """Return requests a second and the 95th percentile in ms while an estimate runs, and whether it ran throughout."""
    post(
        {"at": "2026-09-20T10:00", "kind": "reading", "of": "vessel:pot", "what": "volume", "value": "2.5 L"}
    )
    get("/")
    end, lock, took = time.monotonic() + seconds, threading.Lock(), []

    def ask() -> None:
        while time.monotonic() < end:
            one = timed("/", 1)
            with lock:
                took.extend(one)

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    busy = json.loads(unpacked(get("/api/status")))["working"]
    for thread in threads:
        thread.join()
    took.sort()
    return len(took) / seconds, took[int(0.95 * len(took))], busy


def main() -> None:
    """Print each figure beside its budget."""
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, Python {platform.python_version()}"
    )
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "saltmere"
        entries = build(folder)
        with bench(folder) as cold:
            print(f"first page from a cold start   {cold:7.2f} s    (budget {BUDGET['cold s']} s)")
            settle()
            for path in ("/", "/daybook", "/trial/t4", "/page/saltmere-roll", "/materials", "/boxes"):
                get(path)
                settle()
                times = timed(path, 60)
                p95 = times[int(0.95 * len(times))]
                told = f"{path:<22} median {statistics.median(times):6.1f} ms, p95 {p95:6.1f} ms"
                print(
                    f"{told}   ({entries} entries"
                    + (f", budget {BUDGET['p95 ms']:.0f} ms)" if path == "/" else ")")
                )
            whole, sent = weight()
            print(
                f"weight without pictures        {whole:7.0f} kB   ({sent:.0f} kB as sent; budget {BUDGET['weight kB']:.0f} kB)"
            )
            rate, p95, busy = under_load()
            print(
                f"while an estimate runs         {rate:7.0f} /s   (p95 {p95:.0f} ms, running at the start: {busy}; budget {BUDGET['per s']:.0f} /s)"
            )


if __name__ == "__main__":
    inkhorn.__version__  # noqa: B018 - loaded before the clock starts
    main()
