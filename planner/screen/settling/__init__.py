"""Panels that the plan file keeps: settling them, letting them go, what to do where the request has changed."""
