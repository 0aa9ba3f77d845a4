"""Who may come in from the local network: a code shown at the bench lets one device in, once, for a while.

A code has 40 bits, lives for ten minutes and is used up by the first device
that gives it; wrong ones are counted for each address and for all together.
A device that came in holds a token of 256 bits in a cookie; only the token's
SHA-256 is kept, in the workshop's folder, so that a copied folder opens nothing.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import threading
import time
from collections.abc import Callable
from pathlib import Path

import attrs

FILE = "paired.json"
COOKIE = "inkhorn"
LIFE = 600.0
"""How long a code is good for, in seconds."""
STAYS = 90 * 86400
"""How long a device stays let in after it was last here, in seconds."""
_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"  # 32; none is taken for another
_LENGTH = 8
_WINDOW, _EACH, _ALL = 300.0, 5, 30  # seconds; wrong codes from one address, and from all


@attrs.frozen(kw_only=True)
class Device:
    """One device that was let in: the digest of its token, what it calls itself, when it came and was last here."""

    digest: str
    name: str
    since: float
    last: float


class TooMany(Exception):  # noqa: N818 - it is told to whoever tries, not an error of ours
    """Too many wrong codes; ``wait`` is how many seconds to wait."""

    def __init__(self, wait: float) -> None:
        super().__init__(wait)
        self.wait = wait


class Door:
    """The door of one bench.

    Parameters
    ----------
    folder : Path
        The workshop's folder, where the devices that were let in are remembered.
    clock : callable
        Seconds since 1970.
    """

    def __init__(self, folder: Path, *, clock: Callable[[], float] = time.time) -> None:
        self._file = folder / FILE
        self._clock = clock
        self._lock = threading.Lock()
        self._code, self._made = "", 0.0
        self._wrong: list[tuple[float, str]] = []
        self._devices = self._read()

    def code(self) -> tuple[str, float]:
        """Return the code that is good now, and for how many seconds more; a new one where the last is over."""
        with self._lock:
            left = self._made + LIFE - self._clock()
            # One that is nearly over is no use to anybody who still has to walk to the phone.
            if not self._code or left < LIFE / 5:
                self._renew()
                left = LIFE
            return self._code, left

    def enter(self, code: str, address: str, name: str) -> str | None:
        """Let a device in; return its token, or None where the code is wrong.

        Raises
        ------
        TooMany
            Too many wrong codes came from this address, or from all.
        """
        given = "".join(code.upper().split()).replace("-", "")
        with self._lock:
            now = self._clock()
            self._wrong = [(at, who) for at, who in self._wrong if at > now - _WINDOW]
            mine = [at for at, who in self._wrong if who == address]
            if len(mine) >= _EACH or len(self._wrong) >= _ALL:
                raise TooMany(_WINDOW - (now - (mine or [self._wrong[0][0]])[0]))
            fresh = bool(self._code) and now < self._made + LIFE
            if not fresh or not hmac.compare_digest(given.encode(), self._code.encode()):
                self._wrong.append((now, address))
                if len(self._wrong) >= _ALL:
                    self._renew()  # whoever is guessing begins again from nothing
                return None
            self._code = ""  # used up
            token = secrets.token_urlsafe(32)
            device = Device(digest=_digest(token), name=name.strip()[:40] or "a device", since=now, last=now)
            self._devices[device.digest] = device
            self._write()
            return token

    def known(self, token: str) -> Device | None:
        """Return the device that a token belongs to, or None."""
        if not token:
            return None
        with self._lock:
            device, now = self._devices.get(_digest(token)), self._clock()
            if device is None or now > device.last + STAYS:
                return None
            if now > device.last + 3600:
                device = attrs.evolve(device, last=now)
                self._devices[device.digest] = device
                self._write()
            return device

    def devices(self) -> tuple[Device, ...]:
        """Return the devices that were let in, the last one first."""
        with self._lock:
            return tuple(sorted(self._devices.values(), key=lambda d: -d.since))

    def forget(self, digest: str) -> None:
        """Shut a device out again."""
        with self._lock:
            self._devices.pop(digest, None)
            self._write()

    def _renew(self) -> None:
        self._code = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
        self._made = self._clock()

    def _read(self) -> dict[str, Device]:
        try:
            found = json.loads(self._file.read_text("utf-8"))
            devices = [Device(**{k: one[k] for k in ("digest", "name", "since", "last")}) for one in found]
        except (OSError, ValueError, KeyError, TypeError):
            return {}  # nobody was let in, or the file is damaged: then everybody pairs again
        return {device.digest: device for device in devices}

    def _write(self) -> None:
        text = json.dumps([attrs.asdict(device) for device in self._devices.values()], indent=1)
        beside = self._file.with_suffix(".new")
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        beside.replace(self._file)


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def spoken(code: str) -> str:
    """Return a code as it is read out: in two halves."""
    return f"{code[: _LENGTH // 2]}-{code[_LENGTH // 2 :]}"
