"""What is happening: events, the fold over them, the engine that decides, and the result of a set. Pure."""
