"""season.json: the angles of a season and what goes with them, as one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.answers.season import SeasonAngle, SeasonPlan

__all__ = ["SCHEMA", "season_document"]

SCHEMA = "season 1"


def season_document(season: SeasonPlan) -> dict[str, Any]:
    """Return a season as a document of plain lists, numbers and texts.

    Angles, and the plans of each, stand in the order of work; targets in the order of the season file. Position
    angles are degrees east of north, modulo 180 (90 for a square sensor). Without an angle device there is no
    ``reading_deg``.
    """
    return {
        "schema": SCHEMA,
        "angles": [_angle(season, angle) for angle in season.angles],
        "targets": [
            {
                "title": target.title,
                "panels": target.panels,
                "panels_at_own_best_angle": target.panels_at_own_best_angle,
            }
            for target in season.targets
        ],
        "panels_total": season.panels_total,
        "panels_total_free": season.panels_total_free,
    }


def _angle(season: SeasonPlan, angle: SeasonAngle) -> dict[str, Any]:
    row: dict[str, Any] = {"position_angle_deg": float(angle.position_angle_deg)}
    if angle.reading_deg is not None:
        row["reading_deg"] = float(angle.reading_deg)
    row["plans"] = [season.targets[target].title for target in angle.targets]
    return row
