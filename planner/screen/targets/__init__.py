"""The page Targets: what there is to frame, beside the sky."""
