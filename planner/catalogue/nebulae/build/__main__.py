"""Run the build: ``python -m planner.catalogue.nebulae.build``."""

from .pack import DATA_FILE, build

if __name__ == "__main__":
    print(f"{build()} nebulae in {DATA_FILE.name}, {DATA_FILE.stat().st_size / 1024:.0f} kB")
