"""Frames that came back against the plan: matching, verdicts, coverage, depth, drift, what to shoot again."""
