"""Values that are allowed but look like slips are told as warnings."""

from __future__ import annotations

import pytest

from camkit.job.doubts import doubts
from camkit.job.example import EXAMPLE
from camkit.job.load import parse

LEAST = "[sheet]\nmeasured_thickness = 17.6\n[[cutter]]\nnumber = 1\ndiameter = 6\n"


def test_a_sensible_job_raises_no_doubt() -> None:
    assert doubts(parse(LEAST, "job.toml")) == ()
    assert doubts(parse(EXAMPLE, "job.toml")) == ()


@pytest.mark.parametrize(
    ("text", "message", "remedy"),
    [
        (
            LEAST + "plunge = 4000\n",
            "cutter 1: plunge 4000 is more than a third of feed 3600",
            "Write plunge = 1200 or less",
        ),
        (
            LEAST + "feed = 3000\nplunge = 1010\n",
            "cutter 1: plunge 1010 is more than a third of feed 3000",
            "Write plunge = 1000 or less",
        ),
        (
            LEAST + "cutting_length = 5\n",
            "cutter 1: a pass of 6 is deeper than its cutting length 5",
            "Write a smaller pass_depth",
        ),
        (
            LEAST + "[tabs]\nheight = 17.6\n",
            "tabs.height: 17.6 leaves all 17.6 of the sheet standing",
            "Write a height of 1.5 to 3",
        ),
    ],
)
def test_a_slip_is_told_with_what_to_write(text: str, message: str, remedy: str) -> None:
    (found,) = doubts(parse(text, "job.toml"))
    assert (found.level, found.rule, found.message, found.remedy) == ("warning", "job", message, remedy)


def test_a_drill_is_fed_straight_down_alone_so_its_plunge_is_its_feed() -> None:
    drill = '[[cutter]]\nnumber = 2\nkind = "drill"\ndiameter = 4.5\nfeed = 900\nplunge = 900\n'
    assert doubts(parse(LEAST + drill, "job.toml")) == ()
    assert doubts(parse(LEAST + "feed = 3601\nplunge = 1201\n", "job.toml")) == ()
