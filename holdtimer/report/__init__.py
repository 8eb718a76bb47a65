"""What people read of it: words, tables, pages."""
