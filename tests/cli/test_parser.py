"""What the command line takes, whatever the order."""

import pytest

from holdtimer.cli.parser import build_parser


@pytest.mark.parametrize(
    "words",
    [
        ["--data", "D", "--person", "Edda", "show"],
        ["show", "--data", "D", "--person", "Edda"],
        ["--data", "D", "show", "--person", "Edda"],
        ["--data", "D", "--person", "Edda"],
    ],
)
def test_whose_log_may_be_named_before_or_after_the_command(words):
    args = build_parser().parse_args(words)
    assert (args.data, args.person) == ("D", "Edda")


def test_nobody_named_is_nobody():
    args = build_parser().parse_args(["show"])
    assert (args.data, args.person) == (None, None)
