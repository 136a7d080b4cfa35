"""A rehearsal: the timetable of a plan played without a telescope, with faults in known numbers."""
