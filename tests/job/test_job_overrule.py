"""Options of the command overrule the job file and say so, or make a job by themselves."""

from __future__ import annotations

from typing import Any

import pytest

from camkit.errors import Finding, InputError
from camkit.job.load import parse
from camkit.job.model import Job
from camkit.job.overrule import from_words, overruled

ONE = "[sheet]\nmeasured_thickness = [17.6, 17.8]\n[[cutter]]\nnumber = 3\ndiameter = 6\npass_depth = 4\n"
TWO = ONE + "[[cutter]]\nnumber = 1\ndiameter = 3\n[drawings]\nunit = 'mm'\n"


def with_options(text: str = ONE, **options: Any) -> tuple[Job, tuple[Finding, ...]]:
    words = {"thickness": None, "sheet": None, "cutters": (), "unit": None}
    return overruled(parse(text, "job.toml"), **{**words, **options})


def test_without_options_the_job_stays_and_nothing_is_said() -> None:
    assert with_options() == (parse(ONE, "job.toml"), ())


def test_every_option_takes_the_place_of_its_key_and_says_so() -> None:
    job, notes = with_options(
        TWO, thickness=18.0, sheet="2440x1220", cutters=("3=5.9", "1=1/8in"), unit="inch"
    )
    assert job.sheet[0].measured_thickness == (18.0,)
    assert job.sheet[0].size == (2440.0, 1220.0)
    assert [cutter.diameter for cutter in job.cutter] == [5.9, 3.175]
    assert job.cutter[0].pass_depth == 4.0
    assert job.drawings.unit == "inch"
    assert [str(note) for note in notes] == [
        "--sheet overrules sheet.size: [2440, 1220] instead of unsaid.",
        "--thickness overrules sheet.measured_thickness: 18 instead of [17.6, 17.8].",
        "--cutter overrules diameter of cutter 3: 5.9 instead of 6.",
        "--cutter overrules diameter of cutter 1: 3.175 instead of 3.",
        '--unit overrules drawings.unit: "inch" instead of "mm".',
    ]
    assert {(note.level, note.rule) for note in notes} == {("note", "option")}


def test_an_option_that_changes_nothing_is_not_mentioned() -> None:
    assert with_options(TWO, cutters=("3=6",), unit="mm") == (parse(TWO, "job.toml"), ())


def test_the_diameter_of_the_only_cutter_needs_no_number() -> None:
    job, _ = with_options(cutters=("5.98",))
    assert (job.cutter[0].number, job.cutter[0].diameter) == (3, 5.98)


@pytest.mark.parametrize("sheet", ["2440x1220x17.6", "2440 X 1220 X 17.6 mm", "2.44 m x 122 cm x 17.6"])
def test_a_sheet_may_carry_its_measured_thickness(sheet: str) -> None:
    job, notes = with_options(sheet=sheet)
    assert (job.sheet[0].size, job.sheet[0].measured_thickness) == ((2440.0, 1220.0), (17.6,))
    assert str(notes[1]).startswith("--sheet overrules sheet.measured_thickness: 17.6 instead of")


@pytest.mark.parametrize(
    ("options", "match"),
    [
        ({"thickness": 0.0}, "--thickness: 0.0 is not a length above 0"),
        ({"thickness": float("nan")}, "--thickness: nan is not a length above 0"),
        ({"thickness": float("inf")}, "--thickness: inf is not a length above 0"),
        ({"sheet": "2440"}, '--sheet: "2440" is not a size. Write --sheet 2440x1220'),
        ({"sheet": "2440x1220x18x2"}, "--sheet: .* is not a size"),
        ({"sheet": "2440x1220x"}, "--sheet: '' is not a length"),
        ({"sheet": "2440x-1"}, "--sheet: -1.0 is not a length above 0"),
        ({"sheet": "2440,5x1220"}, "--sheet: '2440,5' is not a length: .*not a comma"),
        ({"sheet": "2440x20"}, "--sheet: margins of 10 leave nothing of a sheet 20 wide"),
        ({"sheet": "2440x1220x18", "thickness": 17.6}, "--sheet says 18 thick, --thickness says 17.6"),
        ({"cutters": ("6,0",)}, "--cutter: '6,0' is not a length"),
        ({"cutters": ("0",)}, "--cutter: 0.0 is not a diameter of 0.1 or more. Write --cutter 6"),
        ({"cutters": ("x=6",)}, '--cutter: "x=6" does not begin with a cutter\'s number'),
        ({"cutters": ("=6",)}, "does not begin with a cutter's number"),
        ({"cutters": ("0=6",)}, "does not begin with a cutter's number"),
        ({"cutters": ("3=6", "3=5")}, '--cutter: "3=5" is said of a cutter that was given before'),
        ({"cutters": ("2=6",)}, "--cutter: the job has no cutter 2. Its cutters have the number 3"),
        ({"unit": "in"}, r'--unit: "in" is not mm, cm or inch. Did you mean inch\?'),
        ({"unit": "furlong"}, '--unit: "furlong" is not mm, cm or inch. Write --unit mm, cm or inch'),
    ],
)
def test_bad_words_name_their_option(options: dict[str, Any], match: str) -> None:
    with pytest.raises(InputError, match=match):
        with_options(**options)


def test_a_diameter_alone_is_refused_when_the_job_has_two_cutters() -> None:
    with pytest.raises(InputError, match="the job has 2 cutters, number 3 or number 1"):
        with_options(TWO, cutters=("5",))


def test_words_alone_make_a_job() -> None:
    job = from_words(["drawings/end-frame.dxf"], 17.6, None, ("6",), None)
    assert job.title == "end-frame"
    assert job.drawings.files == ("drawings/end-frame.dxf",)
    assert (job.sheet[0].size, job.sheet[0].measured_thickness) == (None, (17.6,))
    assert [(cutter.number, cutter.diameter) for cutter in job.cutter] == [(1, 6.0)]
    assert job.layout.mode == "as drawn"


def test_words_may_name_several_cutters_and_the_whole_sheet() -> None:
    job = from_words(["a.svg"], None, "2440x1220x17.6", ("2=3", "1=6"), "inch")
    assert (job.sheet[0].size, job.sheet[0].thickness) == ((2440.0, 1220.0), 17.6)
    assert [(cutter.number, cutter.diameter) for cutter in job.cutter] == [(2, 3.0), (1, 6.0)]
    assert job.drawings.unit == "inch"


@pytest.mark.parametrize(
    ("drawings", "thickness", "cutters", "match"),
    [
        ([], 18.0, ("6",), "no drawing is named"),
        (["a.dxf"], None, ("6",), "--thickness is needed. Measure the sheet with a calliper"),
        (["a.dxf"], 18.0, (), "--cutter is needed. Give its measured diameter"),
        (["a.dxf"], 18.0, ("6", "2=3"), "--cutter: several cutters need numbers"),
    ],
)
def test_words_that_lack_something_say_what(
    drawings: list[str], thickness: float | None, cutters: tuple[str, ...], match: str
) -> None:
    with pytest.raises(InputError, match=match):
        from_words(drawings, thickness, None, cutters, None)
