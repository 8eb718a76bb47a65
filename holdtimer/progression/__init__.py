"""What to do next. Pure: takes set results."""
