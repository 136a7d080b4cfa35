"""The app in a server of its own, and a real browser that looks at it."""

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium")
CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


WATCH = """\
import sys
NAMES = ("socket.connect", "socket.sendto", "socket.getaddrinfo", "socket.gethostbyname", "socket.bind")
stream = open(__file__ + ".log", "a", buffering=1)
sys.addaudithook(lambda name, found: name in NAMES and print(name, repr(found[-1] if name in NAMES[:2] or
    name == "socket.bind" else found[0]), file=stream))
"""
"""Runs first in the server's process, and writes down every address that is bound, asked for or spoken to."""


def addresses_of(folder):
    """What the server bound, looked up or spoke to: lines of event and address."""
    return (folder / "sitecustomize.py.log").read_text().splitlines()


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def key_of(log):
    """The key that a server printed."""
    return re.search(r"http://127\.0\.0\.1:\d+/\?key=(\S+) ", log.read_text())[1]


def start_server(folder, *arguments, key=False, port=None):
    """Start the app from a folder that is not the repository; return process, address and log.

    With `key` the address that it prints stands in the log (`key_of`), and nobody gets in without it.
    """
    (folder / "sitecustomize.py").write_text(WATCH)
    port = port or free_port()
    environment = {**os.environ, "PYTHONPATH": f"{folder}{os.pathsep}{ROOT}", "HOME": str(folder)}
    log = folder / "server.log"
    command = [sys.executable, "-m", "planner", "app", "--no-browser", "--port", str(port), *arguments]
    command += [] if key else ["--no-key"]
    with log.open("wb") as stream:
        process = subprocess.Popen(command, cwd=folder, env=environment, stdout=stream, stderr=stream)
    address = f"http://127.0.0.1:{port}"
    for _ in range(600):
        assert process.poll() is None, log.read_text()
        try:
            with urllib.request.urlopen(address + "/_stcore/health", timeout=1):
                return process, address, log
        except OSError:
            time.sleep(0.1)
    process.kill()
    raise AssertionError(log.read_text())


RUNS = """(() => {
    const runs = window.runs = { asked: 0, askedAt: 0, begunAt: 0, movedAt: 0 }, send = WebSocket.prototype.send;
    WebSocket.prototype.send = function (data) {
        if (data?.[0] === 0x5a) { runs.asked += 1; runs.askedAt = performance.now(); }
        return send.call(this, data); };
    new MutationObserver((seen) => {
        runs.movedAt = performance.now();
        if (seen.some((one) => one.oldValue === "notRunning")) runs.begunAt = runs.movedAt;
    }).observe(document, { subtree: true, attributeOldValue: true, attributeFilter: ["data-test-script-state"] });
    })()"""
"""Runs first on a page: counts how often the page asked for a run, and notes when one began. A message that asks for
one is the framework's field 11, so it begins with 11 * 8 + 2."""
RESTS = """() => {
    const app = document.querySelector("[data-testid=stApp]")?.dataset, now = performance.now(), { runs } = window;
    const began = runs.begunAt >= runs.askedAt || now - runs.askedAt > 3000;     // the shortest runs are not seen
    return app?.testScriptState === "notRunning" && app.testConnectionState === "CONNECTED" && began
        && now - Math.max(runs.askedAt, runs.movedAt) > 100
        && (window.__plannerBehaviour?.owed.none ?? true) && !window.__plannerMemory?.leaving; }"""
"""Every run that was asked for is over, and the page is as new as the sky."""
WAIT_MS = 60_000


def rests(page):
    """Wait until the page shows all that it was asked for."""
    page.wait_for_function(RESTS, timeout=WAIT_MS)


def follows(page, act, *, surely=True):
    """Act, and wait for the page to follow; of what may need no answer of the planner only for a moment."""
    before = page.evaluate("runs.asked")
    act()
    try:
        page.wait_for_function(
            "before => runs.asked > before", arg=before, timeout=WAIT_MS if surely else 800
        )
    except Exception:
        if surely:
            raise
    rests(page)


@pytest.fixture(autouse=True)
def own_state_folder(tmp_path_factory, monkeypatch):
    """What the planner keeps for its user stays in the test."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
