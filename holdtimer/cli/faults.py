"""What a person can put right at once."""


class BadInput(Exception):  # noqa: N818
    """What was asked for cannot be done as asked; the message says what would be right."""
