"""What every event has, and the types of its fields. Times are seconds."""

from datetime import datetime
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from holdtimer.text import YEARS

Seconds = Annotated[float, Field(ge=0, le=1e8, allow_inf_nan=False)]
MAX_TEXT = 2000  # characters
Text = Annotated[str, StringConstraints(max_length=MAX_TEXT)]
Count = Annotated[int, Field(ge=0, le=1_000_000_000)]
SetNumber = Annotated[int, Field(ge=0, le=1000)]
WindowSeconds = Annotated[float, Field(ge=10, le=600)]
BandSeconds = Annotated[float, Field(gt=0, le=600)]


def _in_our_years(text: str) -> str:
    """Return a time in ISO 8601, or a text that is none; ValueError for a year far from ours."""
    try:
        year = datetime.fromisoformat(text).year
    except ValueError:
        return text
    if year not in YEARS:
        raise ValueError(f"the year has to be from {YEARS[0]} to {YEARS[-1]}")
    return text


Moment = Annotated[Text, AfterValidator(_in_our_years)]


def round_time(seconds: float) -> float:
    """Return a time to the tenth of a millisecond, as it is written.

    Sums and differences of such times compare as they would on paper: 100.8 - 100 is not less than 0.8.
    """
    return round(seconds, 4)


class Event(BaseModel):
    """One thing that happened: its number in the session, its time, its name."""

    model_config = ConfigDict(frozen=True, extra="ignore", defer_build=True)

    n: Count
    t: Seconds
    ev: str
