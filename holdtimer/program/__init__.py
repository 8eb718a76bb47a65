"""What is to be done: program files, their faults, and the timeline a script compiles to."""
