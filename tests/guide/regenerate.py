"""Write the examples of the front page and the guide anew: `python -m tests.guide.regenerate [PAGE ...]`."""

import sys
import tempfile
from pathlib import Path

from tests.guide.example_folder import fill, plans_made_once
from tests.guide.examples import PAPERS, ROOT, examples_of, output_of, refreshed


def regenerate(paper, folder):
    """Write the examples of one page anew; return how many lines have changed."""
    lines = paper.read_text(encoding="utf-8").split("\n")
    changed = 0
    for example in reversed(list(examples_of(paper))):
        print(f"{example.name}: {example.command}", flush=True)
        new = refreshed(example.shown, output_of(example.command, folder)[1])
        begin = example.line - 1
        changed += sum(a != b for a, b in zip(new, example.shown, strict=False)) + abs(
            len(new) - len(example.shown)
        )
        lines[begin : begin + len(example.shown)] = new
    if changed:
        paper.write_text("\n".join(lines), encoding="utf-8")
    return changed


def main(names):
    """Write the examples of the pages named, or of all."""
    papers = [paper for paper in PAPERS if not names or paper.stem in names or paper.name in names]
    with tempfile.TemporaryDirectory() as folder, plans_made_once():
        fill(Path(folder))
        for paper in papers:
            changed = regenerate(paper, Path(folder))
            if changed:
                print(f"{paper.relative_to(ROOT)}: {changed} lines changed")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
