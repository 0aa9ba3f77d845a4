"""The certificate and key that a maker supplies: looked at before anything is served, so that a fault is said plainly."""

from __future__ import annotations

import ssl
from pathlib import Path

from inkhorn.errors import StoreError

_CERTIFICATE = "-----BEGIN CERTIFICATE-----"
_KEY = "PRIVATE KEY-----"
_LOCKED = ("BEGIN ENCRYPTED PRIVATE KEY", "Proc-Type: 4,ENCRYPTED")  # PKCS #8 and the older form (RFC 1421)


def checked(certificate: Path, key: Path) -> tuple[Path, Path]:
    """Return both files as they are if a server can be opened with them.

    Parameters
    ----------
    certificate, key : Path
        PEM files; the certificate may be followed by those that vouch for it.

    Raises
    ------
    StoreError
        A file is missing, cannot be read, is not what it should be, or the two do not belong together.
    """
    vouches, opens = _read(certificate, "--certificate"), _read(key, "--key")
    if _CERTIFICATE not in vouches:
        swapped = _KEY in vouches and _CERTIFICATE in opens
        raise StoreError(
            "this is no certificate in PEM form",
            where=f"--certificate {certificate}",
            mend="It is the key: give the two the other way round"
            if swapped
            else f"Such a file has a line {_CERTIFICATE}",
        )
    if _KEY not in opens:
        raise StoreError(
            "this is no private key in PEM form",
            where=f"--key {key}",
            mend="Such a file has a line that begins with -----BEGIN and ends with PRIVATE KEY-----",
        )
    if any(mark in opens for mark in _LOCKED):
        raise StoreError(
            "the key is locked with a password",
            where=f"--key {key}",
            mend="Give a key without one, in a file that nobody but you can read",
        )
    try:
        # No password is ever asked for on the terminal: a locked key was refused above.
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password="")
    except ssl.SSLError as error:
        raise _fault(error, certificate, key) from error
    return certificate, key


def _fault(error: ssl.SSLError, certificate: Path, key: Path) -> StoreError:
    both = f"--certificate {certificate} --key {key}"
    if error.reason == "KEY_VALUES_MISMATCH":
        return StoreError(
            "the key does not belong to the certificate",
            where=both,
            mend="Give the key that the certificate was made for",
        )
    return StoreError(
        f"the certificate and its key cannot be used ({(error.reason or 'unknown').replace('_', ' ').lower()})",
        where=both,
        mend="Have both made anew, as PEM",
    )


def _read(path: Path, option: str) -> str:
    try:
        return path.read_bytes().decode("latin-1")
    except FileNotFoundError as error:
        raise StoreError(
            "there is no such file", where=f"{option} {path}", mend="Give the path of the PEM file"
        ) from error
    except OSError as error:
        why = "it is a folder" if path.is_dir() else (error.strerror or "unknown").lower()
        raise StoreError(
            f"the file cannot be read ({why})", where=f"{option} {path}", mend="Give a file that you may read"
        ) from error
