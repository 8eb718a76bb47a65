"""The drawing widgets: they show plain data and decide nothing."""
