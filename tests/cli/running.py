"""Runs the command line in this process."""

from planner.cli import main


def run(capsys, *arguments):
    """Exit code, standard output and standard error of a command."""
    code = main([str(one) for one in arguments])
    shown = capsys.readouterr()
    return code, shown.out, shown.err
