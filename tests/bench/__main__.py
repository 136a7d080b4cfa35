"""`python -m tests.bench [NAME ...] [--json]`: every benchmark beside its alternative, in one run.

A benchmark is a module `bench_NAME` with a function `run()` that returns rows: mappings with `name` (what was
measured) and, where there are any, `ours_s`, `other_s`, `ratio` (other / ours) and `note`.
"""

from __future__ import annotations

import argparse
import importlib
import json
import pkgutil
import sys
from collections.abc import Iterator, Mapping
from typing import Any

import tests.bench


def names() -> list[str]:
    """Names of all benchmarks, in order."""
    modules = (module.name for module in pkgutil.iter_modules(tests.bench.__path__))
    return sorted(name.removeprefix("bench_") for name in modules if name.startswith("bench_"))


def rows(wanted: list[str]) -> Iterator[Mapping[str, Any]]:
    """Run benchmarks one after the other."""
    for name in wanted:
        print(f"measuring {name} ...", file=sys.stderr, flush=True)
        for row in importlib.import_module(f"tests.bench.bench_{name}").run():
            yield {"bench": name, **row}


def line(row: Mapping[str, Any]) -> str:
    """One row of the table."""
    times = [f"{row[key]:12.5f}" if row.get(key) is not None else " " * 12 for key in ("ours_s", "other_s")]
    ratio = f"{row['ratio']:10.1f}" if row.get("ratio") is not None else " " * 10
    return f"{row['bench']:10} {row.get('name', ''):58} {times[0]} {times[1]} {ratio}  {row.get('note', '')}"


def main() -> None:
    """Run the benchmarks that are named, or all of them."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"one of {', '.join(names())}; all without")
    parser.add_argument("--json", action="store_true", help="print JSON lines")
    asked = parser.parse_args()
    unknown = sorted(set(asked.names) - set(names()))
    if unknown:
        parser.error(f"there is no benchmark {unknown[0]!r}; there are {', '.join(names())}")
    if not asked.json:
        print(f"{'bench':10} {'work':58} {'ours s':>12} {'other s':>12} {'ratio':>10}  note")
    for row in rows(asked.names or names()):
        print(json.dumps(row) if asked.json else line(row), flush=True)


if __name__ == "__main__":
    main()
