"""The review after the workout: an app of its own, for keyboard and mouse, at a table."""
