"""Site and horizon, darkness and Moon, windows of panels, the timetable. Knows values only, no files."""
