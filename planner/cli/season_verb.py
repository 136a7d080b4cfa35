"""`season` on the command line."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["season_verb"]


@click.command("season", context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.argument("file", type=click.Path(path_type=Path))
def season_verb(file: Path) -> int:
    """Read FILE."""
    raise click.UsageError("season is not ready yet")
