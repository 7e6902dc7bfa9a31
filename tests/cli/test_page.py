"""`sayso page` as it is started: where it listens, what it opens, what it says when it cannot."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

pytest.importorskip("uvicorn")
pytest.importorskip("starlette")


@contextmanager
def page(tmp_path: Path, *more: str, browser: str = "", port: str = "0") -> Iterator[str]:
    """A running page; gives the line it prints. Its browser is a script that writes down what it is told to open."""
    import os

    command = [sys.executable, "-m", "sayso.cli", "page", "--casebook", str(tmp_path / "book.sqlite"), *more]
    if port:
        command += ["--port", port]
    env = {**os.environ, "BROWSER": browser or "false"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as server:
        assert server.stdout is not None
        try:
            yield server.stdout.readline()
        finally:
            server.terminate()


def opener(tmp_path: Path) -> tuple[str, Path]:
    told, script = tmp_path / "opened", tmp_path / "browser"
    script.write_text(f'#!/bin/sh\nprintf %s "$1" > {told}\n')
    script.chmod(0o755)
    return f"{script} %s", told


def address(line: str) -> str:
    found = re.search(r"http://127\.0\.0\.1:\d+/\S*", line)
    assert found, line
    return found[0]


@pytest.mark.skipif(sys.platform == "win32", reason="a shell script stands in for the browser")
def test_it_opens_the_browser_by_itself_at_the_case_asked_for(tmp_path: Path) -> None:
    script, told = opener(tmp_path)
    with page(tmp_path, "--case", "3", browser=script) as line:
        until = time.monotonic() + 60
        while not (told.exists() and told.read_text()) and time.monotonic() < until:
            time.sleep(0.1)
        assert told.read_text() == address(line)
        assert address(line).endswith("/cases/3")


@pytest.mark.skipif(sys.platform == "win32", reason="a shell script stands in for the browser")
def test_it_opens_none_when_told_not_to(tmp_path: Path) -> None:
    script, told = opener(tmp_path)
    with page(tmp_path, "--no-open", browser=script) as line:
        # It has answered, and the moment for opening has passed.
        with urllib.request.urlopen(address(line), timeout=60) as answer:
            assert answer.status == 200
        time.sleep(1.5)
        assert not told.exists()


def test_it_answers_at_once_and_on_this_machine_alone(tmp_path: Path) -> None:
    with page(tmp_path, "--no-open") as line:
        port = int(address(line).split(":")[2].strip("/"))
        with socket.create_connection(("127.0.0.1", port), timeout=60):
            pass
        try:
            own = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
        except OSError:
            own = set()
        for other in {str(a) for a in own if not str(a).startswith("127.")} | {"127.0.0.2"}:
            with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as knock:
                knock.settimeout(5)
                assert knock.connect_ex((other, port)) != 0, f"{other} must not lead to the page"


def test_its_usual_port_is_kept_and_another_taken_where_it_is_not_free(tmp_path: Path) -> None:
    from sayso.cli.page import USUAL_PORT

    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as held:
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            held.bind(("127.0.0.1", USUAL_PORT))
        except OSError:
            pytest.skip("the usual port is in use here")
        held.listen()
        with page(tmp_path, "--no-open", port="") as line:
            assert f":{USUAL_PORT}/" not in line
            assert "http://127.0.0.1:" in line
    with page(tmp_path, "--no-open", port="") as line:
        assert f":{USUAL_PORT}/" in line


def test_a_port_in_use_is_told_in_one_line(tmp_path: Path) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as held:
        held.bind(("127.0.0.1", 0))
        held.listen()
        port = held.getsockname()[1]
        command = [sys.executable, "-m", "sayso.cli", "page", "--no-open", "--port", str(port)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert f"--port: {port} cannot be used" in done.stderr
