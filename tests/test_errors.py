"""What a user reads where the planner cannot start."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def without_packages(*arguments):
    """Python that sees its own library alone, in the folder of the planner."""
    command = [sys.executable, "-S", *arguments]
    return subprocess.run(command, cwd=ROOT, check=False, capture_output=True, text=True)


def test_missing_packages_are_one_sentence():
    run = without_packages("-m", "planner", "plan", "sample_targets/vela_shell.toml")
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr.startswith("planner: the package numpy is not installed for this Python, ")
    assert "pip install -r requirements.txt" in run.stderr and run.stderr.count("\n") == 1


def test_programs_get_the_error_of_python():
    run = without_packages("-c", "import planner")
    assert run.returncode == 1 and "ModuleNotFoundError: No module named 'numpy'" in run.stderr


STOPPED_WHILE_IMPORTING = """
import builtins, runpy, signal, sys

def importing(name, *others, known=builtins.__import__, **more):
    if name == sys.argv[1]:
        signal.raise_signal(signal.SIGINT)
    return known(name, *others, **more)

builtins.__import__ = importing
sys.argv = ["-m", *sys.argv[1:]]
runpy.run_module("planner", run_name="__main__")
"""


@pytest.mark.parametrize("package", ["typing", "numpy", "click"])
def test_an_early_stop_is_one_sentence(package):
    command = [sys.executable, "-c", STOPPED_WHILE_IMPORTING, package]
    run = subprocess.run(command, cwd=ROOT, check=False, capture_output=True, text=True)
    assert (run.returncode, run.stdout, run.stderr) == (130, "", "planner: stopped; nothing has been written\n")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device that is always full is Linux's")
@pytest.mark.parametrize("arguments", [["guide", "words"], ["--help"]])
def test_output_that_cannot_be_written_is_one_sentence(arguments):
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "planner", *arguments]
        run = subprocess.run(command, cwd=ROOT, check=False, stdout=full, stderr=subprocess.PIPE, text=True)
    assert run.returncode == 2 and run.stderr.count("\n") == 1
    assert run.stderr.startswith("planner: what is printed cannot be written: ")


def test_nobody_who_reads_on_or_no_output_at_all_is_no_failure():
    for shell in ("{} guide words | head -1; exit ${{PIPESTATUS[0]}}", "{} guide words >&-"):
        command = ["bash", "-c", shell.format(f"'{sys.executable}' -m planner")]
        run = subprocess.run(command, cwd=ROOT, check=False, capture_output=True, text=True)
        assert (run.returncode, run.stderr) == (0, "")
