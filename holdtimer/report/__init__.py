"""What is handed on: words and tables."""
