"""A job file becomes a `Job`, or every mistake is told at once: key, line, value, what is expected."""

from __future__ import annotations

import pathlib
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camkit.errors import InputError
from camkit.job.example import EXAMPLE
from camkit.job.load import LARGEST_FILE, load, parse
from camkit.job.model import Job

LEAST = "[sheet]\nmeasured_thickness = 17.6\n[[cutter]]\nnumber = 1\ndiameter = 6\n"


def told(text: str) -> list[str]:
    """What is said of a text, one string a finding."""
    with pytest.raises(InputError) as refusal:
        parse(text, "job.toml")
    for finding in refusal.value.findings:
        assert (finding.level, finding.rule, finding.file) == ("error", "job", "job.toml")
    return [str(finding) for finding in refusal.value.findings]


def test_the_least_job_has_every_default() -> None:
    job = parse(LEAST, "job.toml")
    assert job.sheet[0].thickness == 17.6
    assert job.sheet[0].spread is None
    assert job.cutter[0].diameter == 6.0
    assert isinstance(job.cutter[0].diameter, float)
    assert job.cutter[0].depth_of_pass == 6.0
    assert job.layout.mode == "as drawn"
    assert job.machine.ranges() is None


def test_lengths_may_carry_units_and_whole_numbers_are_numbers() -> None:
    text = (
        'layers = { "P*" = { pocket = "1/4 in" }, edge = "sheet edge" }\n'
        '[sheet]\nsize = ["8 ft", "4 ft"]\nmeasured_thickness = ["3/4 in", 19]\n'
        '[machine]\ntravel = [2500, [-10, "1290 mm"], 120]\nrapid = ["12 m/min", 12000, 4000]\n'
        '[[cutter]]\nnumber = 1\ndiameter = "1/4 in"\nfeed = "140 in/min"\nspeed = 18000\n'
    )
    job = parse(text, "job.toml")
    assert job.sheet[0].size == (2438.4, 1219.2)
    assert job.sheet[0].measured_thickness == (19.05, 19.0)
    assert job.sheet[0].spread == pytest.approx(0.05)
    assert job.machine.ranges() == ((0.0, 2500.0), (-10.0, 1290.0), (-60.0, 60.0))
    assert job.machine.rapid == (12000.0, 12000.0, 4000.0)
    assert (job.cutter[0].diameter, job.cutter[0].feed) == (6.35, 3556.0)
    assert [(r.pattern, r.meaning, r.depth) for r in job.layer_rules()] == [
        ("P*", "pocket", 6.35),
        ("edge", "sheet edge", None),
    ]


def test_every_mistake_of_a_file_is_told_at_once_in_the_order_of_the_file() -> None:
    text = """\
titel = "Bench"
unit = "mm"
[sheet]
measured_thickness = -18
size = [2440, true]
thickness = "18,5 mm"
[machine]
travel = [2500, [0, -1], nan]
direction = "climbing"
[[cutter]]
number = 1
[[part]]
name = "shelf"
layr = "outer"
[layers]
"out*" = { pocket = 6, deep = 1 }
notes = "ignored"
"""
    expected = """\
line 1: unknown key 'titel' at the top of the job file, did you mean 'title'? What may stand there: \
[[cutter]], [drawings], [fit], [[glue_up]], [hold_down], [[joint]], [[keep_out]], [layers], [layout], \
[machine], [[part]], [sheet], [tabs], 'title'.
line 2: unknown key 'unit' at the top of the job file. 'unit' belongs in [drawings].
line 4: sheet.measured_thickness: -18 is not a length above 0.
line 5: sheet.size.2: true is not a length above 0.
line 6: unknown key 'thickness' in [sheet], did you mean 'drawn_thickness'? \
Keys of [sheet]: drawn_thickness, grain, margin, material, measured_thickness, name, size.
line 8: machine.travel.2: [0.0, -1.0] is not a range: the lower end comes first.
line 8: machine.travel.3: nan is not a length above 0.
line 9: machine.direction: "climbing" is not "climb" or "conventional". Did you mean "climb"?
line 10: cutter.1.diameter is missing. Write diameter = 6.0 in [[cutter]] 1.
line 14: unknown key 'layr' in [[part]] 1, did you mean 'layer'? \
Keys of [[part]]: at, drawing, drawn_thickness, hold, layer, name, sheet, tabs.
line 16: unknown key 'deep' in layers."out*". Keys of layers."out*": countersink, hole, pocket.
line 17: layers.notes: "ignored" is not "profile", "opening", "hole", "sheet edge", "ignore", \
{ pocket = depth }, { hole = depth } or { countersink = angle }. Did you mean "ignore"?
"""
    assert told(text) == [f"job.toml, {row}" for row in expected.splitlines()]


@pytest.mark.parametrize(
    ("reading", "match"),
    [
        ("0", "line 2: sheet.measured_thickness: 0 is not a length above 0"),
        ("inf", "line 2: .*inf is not a length above 0"),
        ("1e6", "line 2: .*1000000.0 is more than 100000"),
        ("true", "line 2: .*true is not a length above 0"),
        ("[]", "line 2: sheet.measured_thickness has no entries. It needs at least 1"),
        ("[17.6,\n-1]", "line 3: sheet.measured_thickness.2: -1 is not a length above 0"),
        ('"18,5 mm"', "line 2: .*'18,5 mm' is not a length.*decimal point, not a comma"),
        ('"1 1/2"', "line 2: .*'1 1/2' is not a length.*say the unit"),
        ("2026-11-25", "line 2: .*2026-11-25 is not a length above 0, or a list of them"),
        ("9" * 400, "line 2: .*a number of more than 18 digits"),
        ("{ a = 1 }", "line 2: .*a table is not a length above 0, or a list of them"),
    ],
)
def test_a_wrong_thickness_gives_one_clear_finding(reading: str, match: str) -> None:
    (said,) = told(LEAST.replace("17.6", reading))
    assert re.search(match, said), said


@pytest.mark.parametrize(
    ("old", "new", "match"),
    [
        ("number = 1", "number = 1.0", "line 4: cutter.1.number: 1.0 is not a whole number from 1 to 99999"),
        ("number = 1", "number = true", "line 4: cutter.1.number: true is not a whole number"),
        ("number = 1", "number = 0", "line 4: cutter.1.number: 0 is not a whole number"),
        ("[[cutter]]", "[cutter]", r"line 3: cutter is one table, .* Write \[\[cutter\]\]"),
        (
            "[[cutter]]",
            "[[machine]]\n[[cutter]]",
            r"line 3: machine is a list, not a table. Write it once, as \[machine\]",
        ),
    ],
)
def test_a_wrong_table_or_number_gives_one_clear_finding(old: str, new: str, match: str) -> None:
    (said,) = told(LEAST.replace(old, new, 1))
    assert re.search(match, said), said


@pytest.mark.parametrize(
    ("row", "match"),
    [
        ('kind = "spiral"', 'cutter.1.kind: "spiral" is not .* Did you mean "upcut spiral"\\?'),
        ("kind = 5", 'cutter.1.kind: 5 is not "straight", "upcut spiral"'),
        ("flutes = 30", "cutter.1.flutes: 30 is more than 12"),
        ("pass_depth = 0.001", "0.001 is not a depth of 0.05 or more"),
        ('feed = "3/4"', "cutter.1.feed: '3/4' is not a feed: write 3600"),
        ("speed = nan", "cutter.1.speed: nan is not a speed above 0"),
    ],
)
def test_a_wrong_value_of_a_cutter_gives_one_clear_finding(row: str, match: str) -> None:
    (said,) = told(LEAST + row)
    assert re.search(f"line 6: .*{match}", said), said


@pytest.mark.parametrize(
    ("rows", "match"),
    [
        ("layout = 5", "line 1: layout: 5 is not a table"),
        ("layers = 5", "line 1: layers: 5 is not a table of layer patterns"),
        ('title = "a\\nb"', r'line 1: title: "a\\nb" is not text on one line'),
        ("[layot]", r"line 1: unknown table 'layot' .*did you mean \[layout\]\?"),
        ("[layers]\nx = {}", "line 2: layers.x: give either pocket or hole"),
        ("[layers]\nx = { hole = 3, countersink = 90 }", "give either pocket or hole with a depth, or c"),
        ("[layers]\nx = { countersink = 9 }", "line 2: layers.x.countersink: 9 is not an angle from 30"),
        ("[layers]\nx = 5", 'line 2: layers.x: 5 is not "profile"'),
        ('[layers]\n"" = "ignore"', 'line 2: layers."": "" is not text on one line, not empty'),
        ("[[part]]\nname = 'a'\nat = [1]", r"line 3: part.1.at: \[1\] is not a list of 2, each a length"),
        ("[[part]]\nname = 'a'\nat = []", r"line 3: part.1.at: \[\] is not a list of 2, each a length"),
        ("[[part]]\nname = 'a'\nat = [1, 2, 3]", r"line 3: part.1.at: \[1, 2, 3\] is not a list of 2"),
        ("[machine]\ntravel = [1, 2, [3]]", r"line 2: machine.travel.3: \[3\] is not a length above 0, or"),
        ("[fit]\nclearance = 2", "line 2: fit.clearance: 2 is more than 1"),
        ('[[part]]\nname = " "', 'line 2: part.1.name: " " is not text on one line, not empty'),
        (
            '[[keep_out]]\nkind = "pod"',
            r"give either box = \[x0, y0, x1, y1\], or at = ",
        ),
        ('[[keep_out]]\nkind = "pod"\nbox = [9, 9, 2, 20]', "box: the lower left corner comes first"),
        ('[[keep_out]]\nkind = "clamp"\nbox = [1, 2, 3, 4]', "a clamp needs its height above the sheet"),
        (
            '[[keep_out]]\nkind = "pod"\nat = [5, 5]\ndiameter = 9\nheight = 3',
            "a pod lies under the sheet and has no height",
        ),
        ("[hold_down]\nhead = 4", "a head of 4 falls through a hole of 4.5"),
        ("[hold_down]\nhole = 3.5", "a screw of 4 does not go through a hole of 3.5"),
        ('[drawings]\nfiles = "a.dxf"', 'line 2: drawings.files: "a.dxf" is not a list'),
        ('[drawings]\nfiles = ["C:\\new\\table.dxf"]', "line 2: drawings.files.1: .*write paths with /"),
        ('[[glue_up]]\nname = "end"\nlayers = ["a"]', "line 3: glue_up.1.layers has 1 entry. It needs"),
    ],
)
def test_other_wrong_values_give_one_clear_finding(rows: str, match: str) -> None:
    (said,) = told(f"{rows}\n{LEAST}")
    assert re.search(match, said), said


def test_what_is_missing_says_what_to_write() -> None:
    sheet, cutter = told('title = "Bench"')
    assert sheet.startswith("job.toml: sheet is missing. Measure the sheet and write [sheet] with")
    assert cutter.startswith("job.toml: cutter is missing. Write [[cutter]] with number = 1 and")
    assert "Measure the sheet with a calliper" in told("[sheet]\n" + LEAST[LEAST.index("[[cutter") :])[0]


def test_hundreds_of_mistakes_end_in_a_count() -> None:
    said = told(LEAST + "".join(f"[x{number}]\n" for number in range(150)))
    assert len(said) == 101
    assert said[-1] == "job.toml: and 50 more mistakes. Mend these first."


@pytest.mark.parametrize(
    ("more", "match"),
    [
        (
            "[[cutter]]\nnumber = 1\ndiameter = 3\n",
            r"line 7: cutter.2.number: 1 is already the number of \[\[cutter\]\] 1",
        ),
        (
            "[[cutter]]\nnumber = 2\ndiameter = 3\npoint_angle = 118\n",
            r"line 9: cutter.2.point_angle: a straight cutter has no point",
        ),
        (
            '[[cutter]]\nnumber = 2\ndiameter = 3\nkind = "v-groove"\nplunges = true\n',
            r"line 10: cutter.2.plunges: a v-groove always goes straight down",
        ),
        (
            '[[part]]\nname = "Top"\n[[part]]\nname = "top"\n',
            r"line 9: part.2.name: 'top' is already the name of \[\[part\]\] 1. Every part",
        ),
        (
            '[[glue_up]]\nname = "e"\nlayers = ["a", "b"]\n[[glue_up]]\nname = "e"\nlayers = ["c", "d"]\n',
            r"line 10: glue_up.2.name: 'e' is already the name",
        ),
        (
            '[[part]]\nname = "inner"\n[[glue_up]]\nname = "e"\nlayers = ["inner", "iner"]\n',
            r"line 10: glue_up.1.layers.2: no \[\[part\]\] is named 'iner'. Did you mean 'inner'\?",
        ),
        (
            '[[part]]\nname = "shelf"\n[[joint]]\ntenon = "shelf"\nmortise = "end"\n',
            r"line 10: joint.1.mortise: no \[\[part\]\] is named 'end'. Add a \[\[part\]\] row for it",
        ),
        (
            '[[glue_up]]\nname = "e"\nlayers = ["a", "a"]\n',
            r"line 8: glue_up.1.layers.2: 'a' is already glued into 'e', and is cut only once",
        ),
        (
            '[drawings]\nfiles = ["end.dxf"]\n[[part]]\nname = "a"\ndrawing = "ende.dxf"\n',
            r"line 10: part.1.drawing: 'ende.dxf' is not among drawings.files. Did you mean 'end.dxf'\?",
        ),
        (
            '[drawings]\nfiles = ["end.dxf", "top.dxf"]\n[[part]]\nname = "a"\n',
            r"line 8: part.1.drawing is missing: the job has 2 drawings. Write drawing = 'end.dxf'",
        ),
        ('[drawings]\nfiles = ["a.dxf",\n"a.dxf"]\n', r"line 8: drawings.files names 'a.dxf' twice"),
        ('[layers]\n"out*" = "profile"\n"OUT*" = "hole"\n', r"line 8: layers: 'OUT\*' is the same pattern"),
        ("[tabs]\nwidth = 40\n", r"line 7: tabs.width: 40 is more than tabs.longest, 30"),
        (
            '[[keep_out]]\nkind = "clamp"\nbox = [0, 0, 40, 80]\nheight = 14\n',
            r"line 9: keep_out.1.height: the clamp at \(0, 0\) stands 14 .* Write safe_height = 16 or more",
        ),
        ("[hold_down]\nhead_height = 20\n", r"line 7: hold_down.head_height: a screw's head stands 20 above"),
        (
            "[machine]\ntravel = [2500, 1300, [-30, 10]]\n",
            r"line 6: machine.safe_height: 15 is higher than the machine reaches, 10 above",
        ),
        (
            "[machine]\nsafe_height = 4\ntravel_height = 6\n",
            r"line 8: machine.travel_height: 6 is higher than safe_height, 4. Lower it",
        ),
    ],
)
def test_keys_that_contradict_each_other_are_told(more: str, match: str) -> None:
    said = told(LEAST + more)
    assert len(said) == 1
    assert re.search(match, said[0]), said[0]


def test_a_margin_that_leaves_no_sheet_is_told() -> None:
    (said,) = told(LEAST.replace("[sheet]", "[sheet]\nsize = [900, 100]\nmargin = 50"))
    assert said.startswith(
        "job.toml, line 3: sheet.margin: 50 on both sides leaves nothing of a sheet 100 wide."
    )


def test_contradictions_are_told_together_with_other_mistakes() -> None:
    said = told(LEAST.replace("17.6", "-1") + "[[cutter]]\nnumber = 1\ndiameter = 3\n")
    assert [re.search(r"line \d+", text)[0] for text in said] == ["line 2", "line 7"]


def test_without_part_rows_the_drawings_name_the_parts() -> None:
    job = parse(LEAST + '[[glue_up]]\nname = "e"\nlayers = ["a", "b"]\n', "job.toml")
    assert job.glue_up[0].layers == ("a", "b")


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("[sheet]\nmargin = 18,5", r"line 2: not valid TOML at column 12: .*decimal point, not a comma"),
        ("[sheet]\nmargin = 18 mm # a", r"line 2: not valid TOML at column 13: .*text with a unit in quotes"),
        ("[sheet]\nmargin = 3/4", r"line 2: not valid TOML at column 11: .*text with a unit"),
        ("[sheet]\nmaterial = birch", r"line 2: not valid TOML at column 12: .*Text needs quotes"),
        ('[drawings]\nfiles = ["C:\\Users\\a.dxf"]', r"line 2: .*write paths with / or in single quotes"),
        ('[drawings]\nfiles = ["C:\\shop"]', r"line 2: .*write paths with / or in single quotes"),
        ("[sheet]\n[sheet]\n", r"line 2: .*this key or table is written twice. Remove one"),
        ("[sheet]\nmargin = 1\nmargin = 2\n", r"line 3: .*this key or table is written twice"),
        ("[sheet\nmargin = 1", r"line 1: not valid TOML at column 7: .*Write one key = value a line"),
        ('[sheet]\nmaterial = "birch', r"line 2: not valid TOML"),
        ("[sheet]\nsize = [1,\n2", r"line 3: not valid TOML: unclosed array"),
        ("x = " + "[" * 5000, r"nested too deeply"),
        ("x = " + "9" * 5000, r"too many digits"),
        ("", r"the job file is empty"),
        (" \n\t\n", r"the job file is empty"),
        ("\ufefftitle = 1", r"line 1: the text begins with a byte-order mark"),
    ],
)
def test_faults_of_the_syntax_have_a_place_and_a_remedy(text: str, match: str) -> None:
    (said,) = told(text)
    assert re.search(match, said), said


@pytest.mark.parametrize(
    ("raw", "match"),
    [
        (LEAST.encode("utf-16"), "UTF-16 text, or no text at all. Save it as UTF-8"),
        (LEAST.encode("utf-16-le"), "UTF-16 text, or no text at all"),
        (LEAST.encode("utf-8-sig"), "line 1: the file begins with a byte-order mark. Save it as plain UTF-8"),
        ('title = "a"\n# Stärke'.encode("latin-1"), "line 2: byte 0xe4 is not UTF-8 text"),
        (b"", "the job file is empty"),
        (b"#" * (LARGEST_FILE + 1), "1000 kB is too large"),
    ],
)
def test_files_that_are_no_plain_text_are_told(tmp_path: pathlib.Path, raw: bytes, match: str) -> None:
    file = tmp_path / "job.toml"
    file.write_bytes(raw)
    with pytest.raises(InputError, match=match) as refusal:
        load(file)
    assert refusal.value.findings[0].file == str(file)


def test_files_that_are_not_there_are_told(tmp_path: pathlib.Path) -> None:
    with pytest.raises(InputError, match="there is no such file"):
        load(tmp_path / "none.toml")
    with pytest.raises(InputError, match="this is a folder, not a job file"):
        load(tmp_path)
    with pytest.raises(InputError, match="cannot be read"):
        load(tmp_path / ("a" * 5000))


def test_a_file_is_read_like_its_text(tmp_path: pathlib.Path) -> None:
    file = tmp_path / "Töpferbank.toml"
    file.write_bytes(EXAMPLE.replace("\n", "\r\n").encode("utf-8"))
    assert load(file) == parse(EXAMPLE, "job.toml")


signs = st.sampled_from([*"[]{}=\"'#.,\n\\-0519eE \t", "true", "nan", "[[", '"""', "é", "\x00", "18,5", "\r"])


@given(data=st.data())
@settings(derandomize=True, deadline=None, max_examples=50)
def test_a_mutated_text_gives_a_job_or_words(data: st.DataObject) -> None:
    text = EXAMPLE
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text) - 1))
        cut = data.draw(st.integers(0, 12))
        text = text[:at] + data.draw(signs) + text[at + cut :]
    try:
        job = parse(text, "job.toml")
    except InputError as refusal:
        assert all(str(finding) for finding in refusal.findings)
    else:
        assert isinstance(job, Job)
