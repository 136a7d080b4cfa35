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
    "--process-per-site",  # tabs of one visitor share what they have read of the app's scripts
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
    const runs = window.runs = { asked: 0, askedAt: 0, begunAt: 0, endedAt: 0, broken: false, movedAt: 0 };
    const { send, addEventListener } = WebSocket.prototype, now = () => performance.now();
    function* parts(bytes) {                        // number and value of each part of a message
        let at = 0;
        const whole = () => {
            let sum = 0, unit = 1, byte;
            do { byte = bytes[at++]; sum += (byte & 127) * unit; unit *= 128; } while (byte > 127);
            return sum; };
        while (at < bytes.length) {
            const tag = whole(), value = whole();
            if ((tag & 7) === 2) at += value;
            yield [tag >> 3, value]; } }
    function heard(message) {
        for (const [part, value] of parts(new Uint8Array(message))) {
            if (part === 4) runs.begunAt = now();
            if (part === 6) { runs.endedAt = now(); runs.broken = value === 2; } } }
    WebSocket.prototype.send = function (data) {
        if (data?.[0] === 0x5a) { runs.asked += 1; runs.askedAt = now(); }
        return send.call(this, data); };
    WebSocket.prototype.addEventListener = function (name, act, ...rest) {
        const told = (event) => {
            if (event.data instanceof ArrayBuffer) heard(event.data);
            return act.call(this, event); };
        return addEventListener.call(this, name, name === "message" ? told : act, ...rest); };
    new MutationObserver(() => runs.movedAt = now())
        .observe(document, { subtree: true, attributeFilter: ["data-test-script-state"] });
    runs.follow = async (before, rounds) => {       // a busy page takes longer over its rounds
        for (; rounds > 0 && runs.asked === before; rounds -= 1) await new Promise((go) => setTimeout(go, 30));
        return runs.asked > before; };
    })()"""
"""Runs first on a page: counts how often the page asked for a run, and notes when one began and ended. The
framework's messages are those of protocol buffers: one that asks for a run is part 11, so it begins with 11 * 8 + 2;
in what comes back part 4 begins a run, and part 6 ends it, with 2 where it was broken off for the next."""
RESTS = """() => {
    const app = document.querySelector("[data-testid=stApp]")?.dataset, now = performance.now(), { runs } = window;
    const over = runs.begunAt >= runs.askedAt && runs.endedAt >= runs.begunAt && !runs.broken;
    return app?.testScriptState === "notRunning" && app.testConnectionState === "CONNECTED"
        && (over || now - runs.askedAt > 20000)     // a message can be lost on purpose
        && now - Math.max(runs.askedAt, runs.endedAt, runs.movedAt) > 100
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
    if surely:
        page.wait_for_function("before => runs.asked > before", arg=before, timeout=WAIT_MS)
    else:
        page.evaluate("before => runs.follow(before, 12)", before)
    rests(page)


def choose(page, field, choice=None):
    """Choose of a list by its text, or the last; a list closes again where the page still scrolls to it."""
    from playwright.sync_api import TimeoutError as TooLate

    options = page.get_by_role("option", name=choice) if choice else page.get_by_role("option")
    for _ in range(20):
        if field.get_attribute("aria-expanded") != "true":
            field.click()
        page.wait_for_timeout(200)
        if field.get_attribute("aria-expanded") == "true" and not options.count():
            return  # it waits for letters
        try:
            follows(page, lambda: options.last.click(timeout=1000), surely=False)
            return
        except TooLate:
            rests(page)
    raise AssertionError("the list does not stay open")


@pytest.fixture(autouse=True)
def own_state_folder(tmp_path_factory, monkeypatch):
    """What the planner keeps for its user stays in the test."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
