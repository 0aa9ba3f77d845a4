"""The served bench and the demonstration, as somebody starts them from a terminal."""

from __future__ import annotations

import json
import re
import socket
import urllib.request
from pathlib import Path

import pytest
from click.testing import CliRunner

from inkhorn.cli.main import cli
from inkhorn.errors import StoreError
from inkhorn.web.serve import LOOPBACK, listen
from support.answers import faults
from support.real_bench import running


def test_the_bench_is_served_until_it_is_stopped(saltmere: Path) -> None:
    """The address is printed once the page answers, on this machine only; Ctrl-C ends it quietly."""
    with running(saltmere) as bench:
        assert bench.address.startswith("http://")
        with urllib.request.urlopen(bench.address, timeout=10) as answer:  # noqa: S310 - our own loopback address
            assert answer.status == 200
            assert "Say what you did first" in answer.read().decode()
        assert bench.stopped() == ""


def test_a_port_that_is_taken_is_said() -> None:
    """Two benches cannot share a port; the second says so and how to mend it."""
    with listen(0) as first:
        first.listen()
        port = first.getsockname()[1]
        with pytest.raises(StoreError, match="the port is taken"):
            listen(port)


def test_the_bench_listens_on_this_machine_alone() -> None:
    """The socket is bound to the loopback address and no other."""
    with listen(0) as sock:
        assert sock.family is socket.AF_INET
        assert sock.getsockname()[0] == LOOPBACK == "127.0.0.1"


def test_the_demonstration_says_that_it_is_invented_and_what_to_do(tmp_path: Path) -> None:
    """``inkhorn demo`` builds the roll, shares the difference out, draws it and gives counsel; twice gives the same."""
    folder = tmp_path / "roll"
    first = CliRunner().invoke(cli, ["demo", str(folder), "--no-serve"])
    assert first.exit_code == 0, first.output + repr(first.exception)
    assert "Invented" in first.stdout
    picture = re.search(r"^Picture: (.+\.png)$", first.stdout, re.MULTILINE)
    assert picture
    assert Path(picture[1]).is_file()
    again = CliRunner().invoke(cli, ["demo", str(folder), "--no-serve", "--json"])
    answer = json.loads(again.stdout)
    assert faults("comparison", answer["comparison"]) == []
    assert faults("counsel", answer["counsel"]) == []
    assert answer["comparison"]["sentence"] in first.stdout
    for course in answer["counsel"]["courses"]:
        assert course["sentence"] in first.stdout
