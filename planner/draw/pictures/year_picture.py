"""A year at a glance: evenings against hours with darkness, moonlight and the timetable; each panel's hours."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import LinearSegmentedColormap, to_rgb
from matplotlib.dates import ConciseDateFormatter, MonthLocator, date2num
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from planner.draw.figure_png import figure_png
from planner.draw.map.map_view import FONT, printable
from planner.draw.palette import DARK, LIGHT, Palette
from planner.night.almanac import illuminated_fraction, make_almanac
from planner.night.clock import DAY_S, noon_s
from planner.night.observer import celestial_axes, make_observer
from planner.night.settings import Nights, Site
from planner.night.spans import length_s
from planner.night.survey import Survey, Targets, survey_season
from planner.progress import Progress

if TYPE_CHECKING:
    from planner.answers.nights import NightsPlan

__all__ = ["SCREEN_DPI", "year_figure", "year_png"]

EVENINGS = 365
STEP_S = 180.0
MOST_PANELS = 60
"""So many panels are shown, spread over all."""
MOST_NAMES = 12
LONGEST_TITLE = 80
SITE_HEIGHT_IN, WIDTH_IN, DPI = 8.4, 12.6, 160
SCREEN_DPI = 115
"""For the app: a wider picture would be scaled down anew whenever the page runs."""

SKY = {
    "day": "#f4f1e8",
    "civil": "#c9d3e3",
    "nautical": "#8ea3c4",
    "astronomical": "#5a729d",
    "dark": "#101c3c",
}
"""Colours by how deep the Sun stands; they differ in lightness, so that everybody can tell them apart."""
DARK_SKY = {
    "day": "#8d97a3",
    "civil": "#67778f",
    "nautical": "#465b7d",
    "astronomical": "#293b5e",
    "dark": "#060b18",
}
MOONLIT, DARK_MOONLIT = "#e8d48b", "#b09a55"
FILTERS = ("#56b4e9", "#e58fc0", "#2fbf8f", "#f0e442", "#ffffff", "#ff9d5c")
"""Colours of blocks by filter, after Okabe & Ito 2008."""
TEXT_PT, SMALL_PT = 12.5, 10.0


@dataclass(frozen=True)
class _Colours:
    """Colours of a picture: its palette, the sky by the Sun's depth, moonlight, and hours from none to many."""

    palette: Palette
    sky: dict[str, str]
    moonlit: str
    hours: tuple[str, ...]

    @property
    def hours_map(self) -> LinearSegmentedColormap:
        return LinearSegmentedColormap.from_list("hours", list(self.hours))


_LIGHT = _Colours(LIGHT, SKY, MOONLIT, ("#f4f1e8", "#9fb8d9", "#3d6aa8", "#101c3c"))
_DARK = _Colours(DARK, DARK_SKY, DARK_MOONLIT, ("#11161f", "#2b4470", "#5d8fd0", "#cfe2ff"))

Values = NDArray[np.float64]


def year_png(
    nights: NightsPlan, progress: Progress | None = None, *, dark: bool = False, dpi: int = DPI
) -> bytes:
    """Draw the year as PNG; the same plan gives the same bytes, whatever the user's own settings are."""
    return figure_png(lambda: year_figure(nights, progress, dark=dark, dpi=dpi))


def year_figure(
    nights: NightsPlan, progress: Progress | None = None, *, dark: bool = False, dpi: int = DPI
) -> Figure:
    """Draw the year that begins with the season's first evening, site below site."""
    sites, colours = nights.survey.sites, _DARK if dark else _LIGHT
    figure = Figure(figsize=(WIDTH_IN, SITE_HEIGHT_IN * len(sites)), dpi=dpi, facecolor=colours.palette.paper)
    FigureCanvasAgg(figure)
    matplotlib.rcParams.update({"font.family": FONT, "font.size": TEXT_PT})
    for index in range(len(sites)):
        if progress:
            progress("drawing the year", index / len(sites))
        _draw_site(figure, nights, _year(nights, index, colours))
    return figure


@dataclass(frozen=True)
class _Year:
    """A year at one site: dates, and the hours after noon that are shown."""

    index: int
    site: Site
    season: Survey
    shown: tuple[int, ...]
    hours: tuple[float, float]
    sky: Values
    colours: _Colours

    @property
    def palette(self) -> Palette:
        return self.colours.palette


def _year(nights: NightsPlan, index: int, colours: _Colours) -> _Year:
    survey = nights.survey
    site, first = survey.sites[index], survey.nights.first
    last = max(survey.nights.last, first + dt.timedelta(days=EVENINGS - 1))
    count = len(survey.targets)
    shown = np.unique(np.linspace(0, count - 1, min(count, MOST_PANELS)).round().astype(int))
    some = Targets(
        tuple(survey.targets.names[panel] for panel in shown),
        survey.targets.ra_deg[shown],
        survey.targets.dec_deg[shown],
    )
    season = survey_season(some, [site], Nights(first, last, survey.nights.darkness))
    sky, sun = _sky_colours(site, season, colours)
    return _Year(index, site, season, tuple(shown.tolist()), _hours_shown(sun), sky, colours)


def _sky_colours(site: Site, season: Survey, colours: _Colours) -> tuple[Values, Values]:
    """Colours of the sky, shape (hours, evenings, 3), and the Sun's altitude in degrees, from noon to noon."""
    dates = season.nights.evenings
    noons = np.array([noon_s(date, site.zone) for date in dates])
    time = noons + np.arange(0.0, DAY_S + 1.0, STEP_S)[:, None]
    observer, almanac = make_observer(site), make_almanac(time.min(), time.max())
    axes = celestial_axes(float(time.mean()))  # a year of precession moves altitudes by less than a pixel
    zenith, place = observer.zenith(time, axes), observer.position_km(time, axes)
    bodies = {"sun": almanac.sun_km(time) - place, "moon": almanac.moon_km(time) - place}
    altitude = {
        name: np.degrees(np.arcsin(np.sum(zenith * body, axis=-1) / np.linalg.norm(body, axis=-1)))
        for name, body in bodies.items()
    }
    lit = illuminated_fraction(bodies["moon"], bodies["sun"])
    return _coloured(altitude["sun"], altitude["moon"], lit, colours), altitude["sun"]


def _coloured(sun_deg: Values, moon_deg: Values, lit: Values, colours: _Colours) -> Values:
    depth = np.digitize(-sun_deg, [0.0, 6.0, 12.0, 18.0])
    sky = np.array([to_rgb(colour) for colour in colours.sky.values()])[depth]
    share = np.where((depth == 4) & (moon_deg > 0.0), 0.9 * lit, 0.0)[..., None]
    return np.asarray(sky * (1.0 - share) + share * np.array(to_rgb(colours.moonlit)))


def _hours_shown(sun_deg: Values) -> tuple[float, float]:
    """Hours after noon with any twilight in the year, and half an hour more."""
    rows = np.flatnonzero((sun_deg < 0.0).any(axis=1)) * STEP_S / 3600.0
    if not len(rows):
        return 0.0, 24.0
    return max(0.0, float(rows[0]) - 0.5), min(24.0, float(rows[-1]) + 0.5)


def _draw_site(figure: Figure, nights: NightsPlan, year: _Year) -> None:
    count = len(nights.survey.sites)
    base, share = 1.0 - (year.index + 1) / count, 1.0 / count
    clock = figure.add_axes((0.09, base + 0.45 * share, 0.82, 0.44 * share))
    panels = figure.add_axes((0.09, base + 0.155 * share, 0.82, 0.24 * share))
    bar = figure.add_axes((0.922, base + 0.155 * share, 0.012, 0.24 * share))
    _title(figure, nights, year, base + share)
    _draw_clock(clock, nights, year)
    _draw_panels(figure, panels, bar, nights, year)
    _legend(figure, nights, base + 0.008 * share, year.colours)


def _title(figure: Figure, nights: NightsPlan, year: _Year, top: float) -> None:
    height = SITE_HEIGHT_IN * len(nights.survey.sites)
    plan = nights.plan.request.title if nights.plan else ""
    title = plan if len(plan) <= LONGEST_TITLE else f"{plan[: LONGEST_TITLE - 1].rstrip()}…"
    figure.text(
        0.09, top - 0.36 / height, printable(title), fontsize=18, fontweight="bold", color=year.palette.ink
    )
    season, site = nights.survey.nights, year.site
    text = (
        f"{site.name}, {abs(site.latitude_deg):.1f}° {'N' if site.latitude_deg >= 0 else 'S'}   ·   "
        f"season {season.first} to {season.last}   ·   {_outcome(nights)}"
    )
    figure.text(0.09, top - 0.62 / height, printable(text), fontsize=TEXT_PT, color=year.palette.muted)


def _outcome(nights: NightsPlan) -> str:
    timetable = nights.timetable
    if timetable is None:
        return "no timetable"
    if timetable.last is None:
        return "nothing to shoot"
    what = "finished on" if timetable.finished else "not finished, last evening"
    return f"{what} {timetable.last}, {timetable.hours_used:.1f} hours"


def _draw_clock(axes: Axes, nights: NightsPlan, year: _Year) -> None:
    """Draw evenings against hours of the site's clock."""
    left, right = _ends(year)
    axes.imshow(
        year.sky, extent=(left, right, 24.0, 0.0), aspect="auto", origin="upper", interpolation="nearest"
    )
    _draw_reach(axes, year)
    for index, colour in enumerate(_filter_colours(nights)):
        dates, hours, starts = _blocks(nights, year, index)
        axes.bar(dates, hours, bottom=starts, width=0.82, color=colour, linewidth=0.0, zorder=4)
    _draw_season(axes, nights, year)
    axes.set_ylim(year.hours[1], year.hours[0])
    ticks = np.arange(np.ceil(year.hours[0] / 2) * 2, year.hours[1] + 0.1, 2)
    axes.set_yticks(ticks, [f"{int(hour + 12) % 24:02d}:00" for hour in ticks])
    axes.set_ylabel(f"site time ({year.site.time_zone})", color=year.palette.muted)
    _months(axes, year)


def _ends(year: _Year) -> tuple[float, float]:
    nights = year.season.nights
    return float(date2num(nights.first)) - 0.5, float(date2num(nights.last)) + 0.5


def _draw_reach(axes: Axes, year: _Year) -> None:
    """Outline when any panel can be shot, and when all can."""
    dates = [date2num(one.evening.date) for one in year.season.evenings]
    hours, count = _in_reach(year)
    for level, dashes in ((0.5, "solid"), (len(year.shown) - 0.5, "dashed")):
        if level < count.max() and count.shape[1] > 1:
            for colour, width in ((year.palette.paper, 2.6), (year.palette.region, 1.3)):
                axes.contour(
                    dates, hours, count, [level], colors=colour, linewidths=width, linestyles=dashes, zorder=3
                )


def _in_reach(year: _Year) -> tuple[Values, Values]:
    """Hours after noon, shape (H,), and how many panels can be shot then, shape (H, evenings)."""
    hours = np.arange(0.0, 24.0 + 1e-9, STEP_S / 3600.0)
    count = np.zeros((len(hours), len(year.season.evenings)))
    for column, one in enumerate(year.season.evenings):
        starts, ends = (one.sight.window_s - one.evening.span_s[0]).T / 3600.0
        rises = np.searchsorted(hours, starts)
        sets = np.searchsorted(hours, ends, side="right")
        change = np.bincount(rises, minlength=len(hours) + 1) - np.bincount(sets, minlength=len(hours) + 1)
        count[:, column] = np.cumsum(change)[: len(hours)]
    return hours, count


def _filter_colours(nights: NightsPlan) -> list[str]:
    return [FILTERS[index % len(FILTERS)] for index in range(len(nights.survey.filters))]


def _blocks(nights: NightsPlan, year: _Year, chosen: int) -> tuple[Values, Values, Values]:
    """Dates, lengths in hours and starts in hours after noon of one filter's blocks, as bars."""
    found = []
    for block in nights.timetable.blocks if nights.timetable else ():
        evening = nights.survey.evenings[block.night].evening
        if block.chosen == chosen and evening.site == year.index:
            start = (block.start_s - evening.span_s[0]) / 3600.0
            found.append((date2num(evening.date), block.hours, start))
    dates, hours, starts = np.array(found, dtype=float).reshape(-1, 3).T
    return dates, hours, starts


def _draw_season(axes: Axes, nights: NightsPlan, year: _Year) -> None:
    season = nights.survey.nights
    for date, shift in ((season.first, -0.5), (season.last, 0.5)):
        axes.axvline(date2num(date) + shift, color=year.palette.ink, linewidth=1.0, linestyle=":", zorder=5)


def _months(axes: Axes, year: _Year) -> None:
    axes.set_xlim(*_ends(year))
    axes.xaxis_date()
    locator = MonthLocator()
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))
    axes.tick_params(labelbottom=True, colors=year.palette.muted)
    for spine in axes.spines.values():
        spine.set_color(year.palette.grid)


def _draw_panels(figure: Figure, axes: Axes, bar: Axes, nights: NightsPlan, year: _Year) -> None:
    """Draw each panel's hours on each evening, and a mark where it is shot."""
    hours = np.array(
        [
            [length_s(one.sight.windows_of(panel)) / 3600.0 for one in year.season.evenings]
            for panel in range(len(year.shown))
        ]
    )
    left, right = _ends(year)
    extent = (left, right, len(year.shown) - 0.5, -0.5)
    image = axes.imshow(
        hours,
        extent=extent,
        aspect="auto",
        cmap=year.colours.hours_map,
        vmin=0.0,
        vmax=max(1.0, hours.max()),
        interpolation="nearest",
    )
    _mark_shots(axes, nights, year)
    _draw_season(axes, nights, year)
    _panel_names(axes, year)
    _months(axes, year)
    axes.set_ylabel("panel", color=year.palette.muted)
    scale = figure.colorbar(image, cax=bar)
    scale.set_label("hours it can be shot", color=year.palette.muted)
    bar.tick_params(colors=year.palette.muted)
    scale.outline.set_edgecolor(year.palette.grid)  # type: ignore[operator]


def _mark_shots(axes: Axes, nights: NightsPlan, year: _Year) -> None:
    rows = {panel: row for row, panel in enumerate(year.shown)}
    for index, colour in enumerate(_filter_colours(nights)):
        found = [
            (date2num(nights.survey.evenings[block.night].evening.date), rows[block.panel])
            for block in (nights.timetable.blocks if nights.timetable else ())
            if block.chosen == index
            and block.panel in rows
            and nights.survey.evenings[block.night].evening.site == year.index
        ]
        dates, places = np.array(found, dtype=float).reshape(-1, 2).T
        shift = (index - (len(nights.survey.filters) - 1) / 2) * min(
            0.2, 0.7 / max(1, len(nights.survey.filters))
        )
        axes.scatter(dates, places + shift, s=9, color=colour, edgecolors=LIGHT.ink, linewidths=0.4, zorder=4)


def _panel_names(axes: Axes, year: _Year) -> None:
    step = -(-len(year.shown) // MOST_NAMES)
    rows = range(0, len(year.shown), step)
    names = [year.season.targets.names[row] for row in rows]
    axes.set_yticks(list(rows), [printable(name) for name in names])
    axes.tick_params(axis="y", labelsize=TEXT_PT if len(rows) <= 8 else SMALL_PT)


def _legend(figure: Figure, nights: NightsPlan, bottom: float, colours: _Colours) -> None:
    sky, ink = colours.sky, colours.palette.ink
    handles: list[Any] = [
        Patch(facecolor=sky["day"], edgecolor=colours.palette.grid, label="day"),
        Patch(facecolor=sky["nautical"], label="twilight"),
        Patch(facecolor=sky["dark"], label="dark, no Moon"),
        Patch(facecolor=colours.moonlit, label="dark, full Moon up"),
        Line2D([], [], color=colours.palette.region, label="any panel can be shot"),
        Line2D([], [], color=colours.palette.region, linestyle="dashed", label="all panels can be shot"),
        *(
            Patch(facecolor=colour, edgecolor=ink, linewidth=0.4, label=f"shot: {printable(one.name)}")
            for colour, one in zip(_filter_colours(nights), nights.survey.filters, strict=True)
        ),
    ]
    figure.legend(
        handles=handles,
        loc="lower center",
        bbox_to_anchor=(0.5, bottom),
        ncols=4,
        frameon=False,
        fontsize=TEXT_PT,
        labelcolor=ink,
    )
