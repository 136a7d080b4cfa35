"""`planner app`: the Streamlit app, on this machine only."""

from __future__ import annotations

import contextlib
import os
import socket
import sys
import threading
import time
import urllib.request
import webbrowser
from pathlib import Path

import click

from planner.errors import InputError

from .given.kinds import PATH

__all__ = ["app_verb", "free_port", "server_arguments"]

ADDRESS = "127.0.0.1"
FIRST_PORT, PORTS_TRIED = 8501, 40
PATIENCE_S = 60.0
APP = Path(__file__).resolve().parents[1] / "server.py"


@click.command("app")
@click.argument("plan", required=False, type=PATH)
@click.option("--port", type=click.IntRange(1, 65535), help="Port on this machine; by default a free one.")
@click.option("--browser/--no-browser", default=True, help="Whether to open the browser.")
@click.option(
    "--key/--no-key",
    "needs_key",
    default=True,
    help="Whether only those get in who open the address printed, which carries a fresh key; without it every "
    "user of this machine does.",
)
def app_verb(plan: Path | None, port: int | None, browser: bool, needs_key: bool) -> int:
    """Open the app in the browser, with PLAN or a sample.

    It answers on this machine only, to those who have its key, and makes no request to any other. Stop it with
    Ctrl+C. Example:

    python -m planner app sample_targets/vela_shell.toml
    """
    if plan is not None:
        from planner.files.plan_file.shared import one_request_from_text
        from planner.files.text_file import read_text

        one_request_from_text(read_text(plan, "plan file"), path=plan)
    from planner.session.access import ACCESS
    from planner.session.warm_up import begin_warm_up

    port = free_port(port)
    ACCESS.needs_key = needs_key
    url = f"http://{ADDRESS}:{port}/"
    printed = f"{url}?key={ACCESS.key}" if needs_key else url
    click.echo(f"The planner is at {printed} (this machine only). Stop it with Ctrl+C.")
    if browser and _has_screen():
        opened = f"{url}?key={ACCESS.ticket()}" if needs_key else url
        threading.Thread(target=_open_when_up, args=(url, opened), daemon=True).start()
    begin_warm_up(plan and plan.absolute())
    _serve(server_arguments(port, plan))
    return 0


def free_port(wanted: int | None) -> int:
    """Return the port wanted, or the first free one.

    Raises
    ------
    InputError
        If it is taken.
    """
    candidates = [wanted] if wanted else range(FIRST_PORT, FIRST_PORT + PORTS_TRIED)
    for port in candidates:
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((ADDRESS, port))
            except OSError:
                continue
            return port
    if wanted:
        raise InputError(f"port {wanted} is taken or not allowed; give another --port or leave it out")
    raise InputError(f"ports {FIRST_PORT} to {FIRST_PORT + PORTS_TRIED - 1} are taken; give a --port")


def server_arguments(port: int, plan: Path | None) -> list[str]:
    """Return Streamlit's arguments; what safety depends on stands here, where no other setting beats it."""
    flags = {
        "server.address": ADDRESS,
        "server.port": port,
        "server.headless": "true",
        "server.maxUploadSize": 64,
        "server.enableCORS": "true",
        "server.enableXsrfProtection": "true",
        "server.fileWatcherType": "none",
        "browser.gatherUsageStats": "false",
        "logger.hideWelcomeMessage": "true",
    }
    arguments = ["streamlit", "run", str(APP), *(f"--{name}={value}" for name, value in flags.items())]
    return arguments if plan is None else [*arguments, "--", str(plan.absolute())]


def _serve(arguments: list[str]) -> None:
    from streamlit.web import cli

    sys.argv = arguments
    try:
        with contextlib.suppress(KeyboardInterrupt, click.Abort):  # Ctrl+C is how it is stopped
            cli.main(prog_name="streamlit", standalone_mode=False)
    except SystemExit as stop:
        if stop.code:
            raise InputError("the server could not start; see the lines above") from stop


def _has_screen() -> bool:
    """Whether a browser with windows can be expected: a text browser must not take over the terminal."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _open_when_up(url: str, opened: str) -> None:
    """Open an address once the server answers; others can read it in the list of processes, so it opens once."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        try:
            with urllib.request.urlopen(f"{url}_stcore/health", timeout=1):
                webbrowser.open(opened)
                return
        except OSError:
            time.sleep(0.1)
