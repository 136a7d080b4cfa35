"""Makes the packed data of the nebulae from the published tables: ``python -m planner.catalogue.nebulae.build``."""
