"""Function tests in tables and as JSON."""

import json
from datetime import UTC, datetime, timedelta

from holdtimer.program.timeline import Series
from holdtimer.progression.function import FunctionDay, function_trends
from holdtimer.progression.measurement import norm
from holdtimer.report.function import (
    beside_words,
    day_words_of,
    function_blocks,
    function_to_json,
    norm_words,
    series_words,
    strength_words,
)
from holdtimer.report.table import Table

WALK = Series(protocol="timed-walk", lane_m=6, pace="usual", start="standing", aid="one stick")
CROSSED = Series(protocol="chair-stand-30", variant="crossed", seat_cm=46)
START = datetime(2026, 1, 5, 10, tzinfo=UTC)


def read(series, values, off=()):
    days = [
        FunctionDay(f"s{n}", START + timedelta(weeks=4 * n), "t", series, value, n in off)
        for n, value in enumerate(values)
    ]
    return function_trends(days, "older-adults")


def told(blocks):
    for block in blocks:
        if isinstance(block, Table):
            for row in block.rows:
                yield from (cell for cell in row.cells if isinstance(cell, str))
                yield from (words.text for words in row.notes)
        else:
            yield block.text


def test_strength_stands_beside_function_and_nobody_can_say_what_led_to_what():
    words = beside_words(read(WALK, [0.7, 0.8, 0.82, 0.81]), strength_words(2, 0, 3))
    assert words == (
        "Over the same weeks: 2 of 3 exercises stronger, walking speed unchanged beyond the test's error. "
        "This cannot show whether one led to the other."
    )
    assert beside_words(read(WALK, [0.7, 0.8]), strength_words(2, 0, 3)) == "", (
        "too few days are no 'unchanged'"
    )
    assert strength_words(1, 3, 5) == "1 of 5 exercises stronger, 3 of 5 exercises weaker"
    assert strength_words(0, 0, 3) == "no certain change of strength"
    assert strength_words(0, 0, 0) == ""


def test_practice_off_days_and_not_being_able_are_told_apart_and_each_source_is_named():
    found = read(CROSSED, [7, 9, 20, 9, None, 12, 12], off=(2,))
    text = list(told(function_blocks(found, "older-adults", "")))
    assert "(7) 9 (20) 9 12 12" in text
    assert "3 stands" in text
    assert any(line.startswith("Not able on 2026-04-27") for line in text)
    assert any("Ho-Henriksson 2024" in line and "our choice for this group" in line for line in text)
    assert any("Two test days agree." in line for line in text)
    assert [words for _, words in day_words_of(found[0])][4] == "not able"
    for word in ("improved", "normal", "fall risk", "because of"):
        assert not any(word in line for line in text)


def test_what_a_series_is_names_all_that_must_stay_the_same():
    assert series_words(WALK) == "Walk, 6 m, usual pace, standing start, one stick"


def test_healthy_people_are_told_with_their_source_or_not_at_all():
    assert norm_words(norm(CROSSED, "female", 72), CROSSED).startswith(
        "Healthy people (women, 72): 10 to 15 stands, the middle half. CDC STEADI"
    )
    assert norm_words(norm(CROSSED, "female", 50), CROSSED).endswith("no figures for this test at this age.")


def test_whose_own_days_vary_more_learns_why_it_takes_more():
    said = "Your own days vary 2.0 times as much as the test's error, so it takes a larger change."
    assert said in [*told(function_blocks(read(CROSSED, [7, 9, 11, 9, 9]), "older-adults", ""))]
    assert not any("vary" in each for each in told(function_blocks(read(CROSSED, [7, 9, 10, 9]), "ms", "")))


def test_the_document_holds_what_the_sentence_rests_on():
    (trend,) = read(CROSSED, [7, 9, 9, 13, 13, 13])
    document = json.loads(json.dumps(function_to_json(trend, "older-adults")))
    assert (document["state"], document["base"], document["latest"], document["days"]) == (
        "changed",
        9,
        13,
        5,
    )
    assert document["source_known"] == "our choice"
    assert [each["practice"] for each in document["results"]] == [True, False, False, False, False, False]
