"""Write the examples of the front page and the guide anew: `python -m tests.guide.regenerate [PAGE ...]`."""

import sys
import tempfile
from pathlib import Path

from tests.guide.example_folder import fill
from tests.guide.examples import FIRST, PAPERS, ROOT, examples_of, output_of, refreshed
from tests.shared_plans import plans_made_once


def regenerate(paper, folder):
    """Write the examples of one page anew; return how many lines have changed."""
    lines = paper.read_text(encoding="utf-8").split("\n")
    changed = 0
    found = []
    for example in examples_of(paper):  # in their order: what one writes another may read
        print(f"{example.name}: {example.command}", flush=True)
        found.append((example, refreshed(example.shown, output_of(example, folder)[1])))
    for example, new in reversed(found):
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
    with tempfile.TemporaryDirectory() as place, plans_made_once():
        folder, empty = fill(Path(place) / "examples"), Path(place) / "empty"
        empty.mkdir()
        for paper in papers:
            changed = regenerate(paper, empty if paper == FIRST else folder)
            if changed:
                print(f"{paper.relative_to(ROOT)}: {changed} lines changed")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
