"""One camera angle, or a few, for many targets.

`season_plan` is the whole; `table` holds what every target needs at every angle, `best_angles` chooses exactly over
such a table, `search` decides what to plan for it, `order` tells which target leaves the sky first.
"""

from .season_plan import SeasonAngle, SeasonPlan, SeasonTarget, plan_season, season_angles

__all__ = ["SeasonAngle", "SeasonPlan", "SeasonTarget", "plan_season", "season_angles"]
