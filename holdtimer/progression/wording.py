"""Days, times and seconds in plain words, the same on every machine."""

from datetime import UTC, datetime, timedelta

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def day_words(moment: datetime, now: datetime) -> str:
    """Return a day in words at `now`, in its zone: "12 May", with the year where it is another one."""
    day = moment.astimezone(now.tzinfo)
    year = "" if day.year == now.year else f" {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def at_words(moment: datetime, now: datetime, *, has_time: bool = True) -> str:
    """Return "today at 18:21" or "on Tuesday 24 November at 18:21", in the zone of `now`."""
    local = moment.astimezone(now.tzinfo)
    time = f" at {local:%H:%M}" if has_time else ""
    if local.date() == now.date():
        return f"today{time}"
    return f"on {_WEEKDAYS[local.weekday()]} {day_words(moment, now)}{time}"


def from_words(moment: datetime, now: datetime) -> str:
    """Return "from Thursday 18:40" or "today from 18:40", in the zone of `now`, with the date where far.

    It is rounded up to the next minute.
    """
    up = timedelta(seconds=59, microseconds=999_999)
    local = (moment.astimezone(UTC) + up).astimezone(now.tzinfo)
    days = (local.date() - now.date()).days
    at = f"{local.hour:02d}:{local.minute:02d}"
    if days == 0:
        return f"today from {at}"
    date = f" {local.day} {MONTHS[local.month - 1]}" if days > 6 else ""
    return f"from {_WEEKDAYS[local.weekday()]}{date} {at}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return "1 result", "2 results"."""
    return f"{number} {one if number == 1 else many or one + 's'}"
