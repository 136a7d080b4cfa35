"""The finder chart of a plan, for screen and print.

Everything is drawn with matplotlib's objects on an Agg canvas; pyplot's global state is never touched, and
matplotlib is loaded only when something is drawn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from planner.answers.plan import Plan
    from planner.answers.shared.shared_plan import SharedPlan

    from .sky_map import MapFacts

__all__ = ["chart_axes", "chart_figure", "chart_png", "shared_chart_png"]


def chart_axes(axes: Axes, plan: Plan, *, dark: bool = False, up_deg: float = 0.0) -> MapFacts:
    """Draw the map of a plan on axes of any size and place, without title and legend.

    Parameters
    ----------
    axes : matplotlib Axes
        Keep their place; leave about 40 points around them for the labels of the graticule.
    plan : Plan
    dark : bool
        Light lines on dark paper; set the figure's face colour to `DARK.paper` too.
    up_deg : float
        Position angle of the chart's up direction at the picture's centre, degrees east of north.
    """
    from .sky_map import draw_map

    return draw_map(axes, plan, dark=dark, up_deg=up_deg)


def chart_figure(plan: Plan, *, dark: bool = False) -> Figure:
    """Return the whole page: A4, on its longer or shorter side as suits the plan."""
    from .page import page_figure

    return page_figure(plan, dark=dark)


def chart_png(plan: Plan, *, dark: bool = False) -> bytes:
    """Return the whole page as PNG, 200 dots per inch (2338 x 1654 or 1654 x 2338 pixels).

    The same plan gives the same bytes.
    """
    from .page import page_png

    return page_png(plan, dark=dark)


def shared_chart_png(shared: SharedPlan, *, dark: bool = False) -> bytes:
    """Return one page with the layouts of all instruments that share a mosaic, each with the panels that it takes."""
    from .map_beside import Beside
    from .page import page_png

    others = tuple((one.name, one.plan.mosaic) for one in shared.instruments if one is not shared.finest)
    return page_png(shared.finest_shown, dark=dark, beside=Beside(shared.finest.name, others))
