"""What is seen: Textual screens and widgets."""
