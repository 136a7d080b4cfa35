"""Plan, setup and season files in TOML: read, judged, changed."""
