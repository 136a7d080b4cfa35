"""From which places a panel serves a point: on the flat chart and on the sphere."""
