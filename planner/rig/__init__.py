"""The rig: camera, angle device and its calibration, print size."""
