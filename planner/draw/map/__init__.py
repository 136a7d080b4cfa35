"""The map of a plan, on the chart's page and on any axes."""
