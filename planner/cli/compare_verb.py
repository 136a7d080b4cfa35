"""`compare` on the command line."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["compare_verb"]


@click.command("compare", context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.argument("file", type=click.Path(path_type=Path))
def compare_verb(file: Path) -> int:
    """Read FILE."""
    raise click.UsageError("compare is not ready yet")
