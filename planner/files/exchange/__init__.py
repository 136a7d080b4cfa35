"""Open exchange formats: VOTable, ECSV, headers, coverage maps, calendar."""
