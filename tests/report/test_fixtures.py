"""Clamps and screws are on the picture and in the preview, where they stand."""

from __future__ import annotations

from dataclasses import replace

from camkit.cut import Cut, Feed, Rapid
from camkit.job.fixtures import HoldDown, KeepOut
from camkit.pipeline import Result
from camkit.report.fixtures import fixture_lines
from camkit.report.picture import sheet_svg
from camkit.report.preview_data import page_data


def test_what_holds_the_sheet_is_drawn_crossed_out_and_named_in_the_legend(sound: Result) -> None:
    clamp = KeepOut(kind="clamp", box=(5, 6, 25, 46), height=10)
    drilled = Cut(1, "hold-down", "sheet", 1, 1, 1, (Rapid(300, 200, 15), Feed(300, 200, -18, 900)))
    job = sound.job.model_copy(update={"keep_out": (clamp,), "hold_down": HoldDown()})
    held = replace(sound, job=job, cuts=(drilled, *sound.cuts))
    lines = fixture_lines(held, 1)
    assert "M5 6L25 6" in lines and "M5 6L25 46M5 46L25 6" in lines
    # A head of 8: arms of 4 / root 2 = 2.828 about (300, 200).
    assert "M297.172 197.172L302.828 202.828" in lines
    assert f'd="{lines}"' in sheet_svg(held, 1) and "clamp, pod, screw" in sheet_svg(held, 1)
    sheets = page_data(held)["sheets"]
    assert isinstance(sheets, list) and isinstance(sheets[0], dict) and sheets[0]["fixtures"] == lines


def test_places_that_the_job_gives_are_drawn_when_nothing_is_drilled_and_nothing_where_nothing_holds(
    sound: Result,
) -> None:
    job = sound.job.model_copy(update={"hold_down": HoldDown(places=((20, 30),))})
    assert "M17.172 27.172" in fixture_lines(replace(sound, job=job), 1)
    assert fixture_lines(sound, 1) == "" and "clamp, pod, screw" not in sheet_svg(sound, 1)
