"""The served bench and the demonstration, as somebody starts them from a terminal."""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import urllib.request
from pathlib import Path

import pytest
from click.testing import CliRunner

from inkhorn.cli.main import cli
from inkhorn.errors import StoreError
from inkhorn.web.serve import LOOPBACK, listen
from support.answers import faults
from support.real_bench import empty, served_by


def test_the_bench_is_served_until_it_is_stopped(tmp_path: Path) -> None:
    """The address is printed once the page answers, on this machine only; Ctrl-C ends it quietly."""
    command = served_by(empty(tmp_path))
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as served:
        assert served.stdout is not None
        assert served.stderr is not None
        line = served.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+/", line)
        assert found, line + served.stderr.read()
        with urllib.request.urlopen(found[0], timeout=10) as answer:  # noqa: S310 - our own loopback address
            assert answer.status == 200
            assert "Say what you did first" in answer.read().decode()
        served.send_signal(signal.SIGINT)
        assert served.wait(20) == 0
        assert served.stderr.read() == ""


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
