"""The ruler of a set that is over: large as in a session, or small in two rows of a list."""

from holdtimer.screens.ruler import RulerData, column
from holdtimer.session.results import known_to_run
from holdtimer.session.state import Session, SetState


def ruler_data(session: Session, each: SetState) -> RulerData | None:
    """Return what the ruler of a set that is over shows; None where its window was never opened."""
    if not each.begun:
        return None
    ran = known_to_run(session, each)
    stamps = tuple((stamp.at, stamp.kind) for stamp in ran.stamps)
    end = ran.ended_at
    if each.paper is not None:
        if not stamps and each.paper.first_failure_s is not None:
            stamps = ((each.paper.first_failure_s, "failure"),)
        end = each.window_s
    return RulerData(each.window_s, each.band_s, each.final_s, end, stamps)


UNKNOWN = str.maketrans("█", "▒")  # of a window that closed in silence nobody knows how long it was worked


def small_ruler(width: int, data: RulerData | None) -> list[str]:
    """Draw a ruler in two rows: what was worked with the stamps in it, and the band."""
    if data is None:
        return ["", ""]
    end = round(min(data.now_s or 0.0, data.window_s) / data.window_s * width)
    row = ["─" if at < end else " " for at in range(width)]
    for begin, stop in data.worked():
        first, last = (round(at / data.window_s * width) for at in (begin, stop))
        row[first:last] = "█" * (last - first)
    for at, kind in data.stamps:
        row[column(data, at, width)] = "▼" if kind == "failure" else "▽"
    low, high = (column(data, at, width) for at in data.band_s)
    scale = ["━" if low <= at <= high else "╌" for at in range(width)]
    scale[low], scale[high] = "┣", "┫"
    for at, words in ((low + 2, f" {data.band_s[0]:g} "), (high - 5, f" {data.band_s[1]:g} ")):
        if high - low > 20:
            scale[at : at + len(words)] = words
    return ["".join(row), "".join(scale)]
