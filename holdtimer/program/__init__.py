"""What is to be done: program files, their errors, and the timeline a script compiles to."""
