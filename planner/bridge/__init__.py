"""The planner's values as astropy types, for scripts and notebooks; nothing is computed here."""
