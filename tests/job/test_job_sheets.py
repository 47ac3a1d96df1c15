"""One [sheet] or several [[sheet]]: which part is cut from which, and what is refused."""

from __future__ import annotations

import pytest

from camkit.errors import InputError
from camkit.job.doubts import doubts
from camkit.job.load import parse
from camkit.job.model import Cutter, Job, PartRow, Sheet
from camkit.job.overrule import overruled

TWO = """\
[[sheet]]
name = "birch 18"
drawn_thickness = 18
measured_thickness = [17.6, 17.7, 17.6]
[[sheet]]
name = "birch 12"
drawn_thickness = 12
measured_thickness = [11.8, 11.7, 11.9]
material = "birch plywood"
[[cutter]]
number = 1
diameter = 6
"""
PARTS = """\
[[part]]
name = "end"
[[part]]
name = "back"
sheet = "birch 12"
[[part]]
name = "shelf"
drawn_thickness = 12
"""


def told(text: str) -> list[str]:
    with pytest.raises(InputError) as refusal:
        parse(text, "job.toml")
    return [str(finding) for finding in refusal.value.findings]


def test_one_table_is_the_same_as_a_list_of_one() -> None:
    single = "[sheet]\nmeasured_thickness = 17.6\n[[cutter]]\nnumber = 1\ndiameter = 6\n"
    assert parse(single, "job.toml") == parse(single.replace("[sheet]", "[[sheet]]"), "job.toml")


def test_the_name_decides_then_the_drawn_thickness_then_the_first_sheet() -> None:
    job = parse(TWO + PARTS, "job.toml")
    assert [job.sheet_of(row).name for row in job.part] == ["birch 18", "birch 12", "birch 12"]
    assert job.sheets_used() == job.sheet
    assert doubts(job) == ()


def test_a_sheet_without_drawn_thickness_suits_parts_within_1_mm_of_its_readings() -> None:
    text = TWO.replace("drawn_thickness = 12\n", "") + '[[part]]\nname = "back"\ndrawn_thickness = '
    job = parse(text + "12.8\n", "job.toml")
    assert job.sheet_of(job.part[0]).name == "birch 12"
    assert "no sheet is for parts drawn 12.9 thick" in told(text + "12.9\n")[0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            TWO.replace('"birch 12"', '"Birch 18"'),
            (
                "job.toml, line 6: sheet.2.name: 'Birch 18' is already the name of [[sheet]] 1. "
                "Every sheet needs its own name, letter case ignored."
            ),
        ),
        (
            TWO.replace('name = "birch 12"\n', ""),
            (
                "job.toml, line 5: sheet.2.name is missing: the job has 2 sheets. "
                'Write a name such as name = "birch 18" in [[sheet]] 2.'
            ),
        ),
        (
            TWO + PARTS.replace('"birch 12"', '"birck 12"'),
            (
                'job.toml, line 17: part.2.sheet: no sheet is named "birck 12". '
                "Did you mean 'birch 12'? Otherwise give a [[sheet]] that name."
            ),
        ),
        (
            TWO + PARTS.replace("drawn_thickness = 12", "drawn_thickness = 9"),
            (
                "job.toml, line 20: part.3.drawn_thickness: no sheet is for parts drawn 9 thick. "
                'Say which with sheet = …, or add a [[sheet]]; the job has sheet "birch 18" (18), '
                'sheet "birch 12" (12).'
            ),
        ),
        (
            TWO + PARTS.replace("drawn_thickness = 12", 'sheet = "birch 18"\ndrawn_thickness = 12'),
            (
                'job.toml, line 21: part.3.drawn_thickness: sheet "birch 18" is 18 thick, not 12. '
                'Say which with sheet = …, or add a [[sheet]]; the job has sheet "birch 18" (18), '
                'sheet "birch 12" (12).'
            ),
        ),
        (
            TWO.replace("drawn_thickness = 18", "drawn_thickness = 12") + PARTS,
            (
                "job.toml, line 20: part.3.drawn_thickness: 2 sheets are for parts drawn 12 thick, "
                '"birch 18" and "birch 12". Say which with sheet = …, or add a [[sheet]]; the job has '
                'sheet "birch 18" (12), sheet "birch 12" (12).'
            ),
        ),
        (
            TWO.replace("[11.8, 11.7, 11.9]", "-1"),
            "job.toml, line 8: sheet.2.measured_thickness: -1 is not a length above 0.",
        ),
        (
            TWO.replace('material = "birch plywood"', "size = [900, 15]"),
            (
                "job.toml, line 5: sheet.2.margin: 10 on both sides leaves nothing of a sheet 15 wide. "
                "Write a smaller margin."
            ),
        ),
        (
            TWO.replace("material", "materal"),
            (
                "job.toml, line 9: unknown key 'materal' in [[sheet]] 2, did you mean 'material'? "
                "Keys of [[sheet]]: drawn_thickness, grain, margin, material, measured_thickness, name, size."
            ),
        ),
        (
            TWO.replace("measured_thickness = [11.8, 11.7, 11.9]\n", ""),
            (
                "job.toml, line 5: sheet.2.measured_thickness is missing. "
                "Measure the sheet with a calliper in several places and write measured_thickness = "
                "[17.6, 17.7, 17.6] with your readings in [[sheet]] 2."
            ),
        ),
    ],
)
def test_what_is_wrong_with_several_sheets_is_told_with_its_line(text: str, said: str) -> None:
    assert told(text) == [said]


def test_words_in_place_of_the_sheet_are_refused() -> None:
    rest = TWO[TWO.index("[[cutter]]") :]
    assert told(f"sheet = 18\n{rest}") == ["job.toml, line 1: sheet: 18 is not a table, or several tables."]
    assert told(f"sheet = [18]\n{rest}") == ["job.toml, line 1: sheet.1: 18 is not a table."]
    assert told(f"sheet = []\n{rest}") == ["job.toml, line 1: sheet has no entries. It needs at least 1."]


def test_a_sheet_that_no_part_is_cut_from_is_a_warning() -> None:
    (found,) = doubts(parse(TWO, "job.toml"))
    assert (found.level, found.rule) == ("warning", "job")
    assert found.message == 'no part is cut from sheet "birch 12"'
    assert found.remedy == "Give its parts [[part]] rows that name it: sheet = …"


def test_tabs_as_high_as_one_of_the_sheets_name_it() -> None:
    (found,) = doubts(parse(TWO + PARTS + "[tabs]\nheight = 12\n", "job.toml"))
    assert found.message == 'sheet "birch 12": tabs.height: 12 leaves all 11.8 of the sheet standing'


def test_options_change_the_first_of_several_sheets_and_say_so() -> None:
    job = parse(TWO + PARTS, "job.toml")
    changed, notes = overruled(job, thickness=18.1, sheet="2440x1220", cutters=(), unit=None)
    assert (changed.sheet[0].size, changed.sheet[0].measured_thickness) == ((2440, 1220), (18.1,))
    assert changed.sheet[1] == job.sheet[1]
    assert [note.message for note in notes] == [
        '--sheet overrules sheet.size of sheet "birch 18", the first of 2: [2440, 1220] instead of unsaid',
        (
            '--thickness overrules sheet.measured_thickness of sheet "birch 18", the first of 2: '
            "18.1 instead of [17.6, 17.7, 17.6]"
        ),
    ]


def test_a_job_made_without_a_file_refuses_a_part_of_no_sheet() -> None:
    row = PartRow(name="back", sheet="birch 9")
    job = Job(sheet=(Sheet(measured_thickness=(18.0,)),), cutter=(Cutter(number=1, diameter=6),), part=(row,))
    with pytest.raises(InputError, match='part "back": no sheet is named "birch 9"'):
        job.sheet_of(row)
