"""What happened: append, recover, read back, lock. Bytes, no rules."""
