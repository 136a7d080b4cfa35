"""Pictures of numbers: the year, the season, depth, drift, panels against angle."""
