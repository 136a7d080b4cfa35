"""Thousands of places in a season, without the windows of each: hours alone."""

from .season_hours import SeasonHours, season_hours

__all__ = ["SeasonHours", "season_hours"]
