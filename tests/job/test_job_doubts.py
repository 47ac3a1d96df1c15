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
            "cutter 1: plunge 4000 is faster than feed 3000",
            "Plunge at a third of the feed or less",
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
