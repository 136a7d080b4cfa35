"""The verb `app`: bad input is one sentence, and the server keeps to this machine."""

import signal
import socket

import pytest

from planner.cli import main
from planner.cli.app_verb import free_port, server_arguments
from planner.errors import InputError

from .conftest import start_server


def failed(capsys, *arguments):
    assert main(["app", *arguments]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    return lines[0]


def test_a_plan_that_is_missing_or_bad_is_refused_before_a_server_starts(capsys, tmp_path):
    assert "does not exist" in failed(capsys, str(tmp_path / "missing.toml"))
    (tmp_path / "bad.toml").write_text("[camera]\nfocal = 3\n")
    assert "focal" in failed(capsys, str(tmp_path / "bad.toml"))


def test_a_port_that_is_taken_or_impossible_is_refused(capsys):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert "is taken" in failed(capsys, "--port", str(port))
        with pytest.raises(InputError):
            free_port(port)
    assert "70000" in failed(capsys, "--port", "70000")


def test_the_server_is_told_to_keep_to_this_machine():
    arguments = server_arguments(8501, None)
    for flag in (
        "--server.address=127.0.0.1",
        "--server.enableXsrfProtection=true",
        "--server.enableCORS=true",
        "--browser.gatherUsageStats=false",
        "--server.maxUploadSize=64",
    ):
        assert flag in arguments


def test_control_c_stops_it_quietly(tmp_path):
    process, _, log = start_server(tmp_path)
    process.send_signal(signal.SIGINT)
    assert process.wait(60) == 0
    assert len(log.read_text().strip().splitlines()) == 1  # the address


def test_help_has_an_example(capsys):
    assert main(["app", "--help"]) == 0
    assert "python -m planner app sample_targets/" in capsys.readouterr().out
