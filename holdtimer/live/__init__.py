"""A running session: keys, clock, engine, log and sound tied together."""
