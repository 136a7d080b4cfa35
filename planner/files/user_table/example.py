"""A commented starting point for `[[tables]]`."""

from __future__ import annotations

from .fields import FIELDS

__all__ = ["example_table"]

HEAD = """\
# A table of your own for the hand-over: an example written by the mosaic planner.
# Put it into the setup file (or into one plan file), change what your capture program wants otherwise,
# and repeat [[tables]] for further files. Keys left out have the default that is named beside them.

[[tables]]
file = "capture_list.csv"      # a plain file name; the file goes into the folder tables
rows = "panel and filter"      # "panel" (default), "panel and filter", "filter and panel"
delimiter = ","                # "," (default), ";", "\\t" or another character
header = true                  # true (default): the first row holds the names below
first_lines = []               # lines before everything else, as they are
quote = "where needed"         # "where needed" (default), "all", "never"
decimal_mark = "."             # "." (default) or ","
encoding = "utf-8"             # "utf-8" (default), "utf-16", "us-ascii", "iso-8859-1", "iso-8859-15"
byte_order_mark = false        # true helps some spreadsheets to see that a file is utf-8
line_end = "lf"                # "lf" (default) or "crlf"
guard_formulas = true          # true (default): apostrophe before text that looks like a formula
columns = [
  { name = "target", field = "target", spaces = "_" },
  { name = "ra", field = "ra", unit = "hours", form = "sexagesimal", separators = ["h", "m", "s"] },
  { name = "dec", field = "dec", form = "sexagesimal", separators = ["d", "m", "s"] },
  { name = "angle", field = "position_angle", decimals = 3, range_deg = [0, 180] },
  { name = "filter", field = "filter" },
  { name = "seconds", field = "exposure" },
  { name = "count", field = "exposures" },
]

# A column has a name, a field, and options that go with the field:
#
#   angles      unit = "degrees" or, for ra, "hours"
#               form = "decimal" (default) or "sexagesimal"
#               decimals = 0 to 9, of the number or of the seconds
#               separators = ":" (default), or three texts such as ["h", "m", "s"]
#               sign = "negative" or "always": whether positive angles get a plus
#               digits = zeros in front up to so many digits before the point
#               range_deg = [0, 360] or [-180, 180]; position_angle also [0, 180] or [-90, 90]
#   ra, dec and position_angle
#               equator = "ICRS" (default), "mean of date", "true of date", with date = 2027-01-08
#   position_angle and readings
#               direction = "east" (default) or "west": which way the angle grows from north
#   sizes       unit, decimals
#   times       unit = "seconds" (default), "minutes", "hours"; decimals
#   texts       spaces = what replaces spaces
#
# The fields:
#
"""


def example_table() -> str:
    """Return a `[[tables]]` to start from, with every option and field explained, as TOML."""
    width = max(map(len, FIELDS)) + 2
    return HEAD + "".join(f"#   {name:{width}}{field.meaning}\n" for name, field in FIELDS.items())
