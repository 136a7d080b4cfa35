"""One question each, from a request to its answer: plan, angles, nights, camera angle, comparison, season."""
