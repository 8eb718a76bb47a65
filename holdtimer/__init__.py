"""Leads timed strength sets to momentary failure, hands-free, and keeps what happened."""

__version__ = "0.1.0"
