"""The whole way in one readable function: job in, judged programs out."""

from __future__ import annotations

import pathlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from camkit.cut import Cut
from camkit.drawing.drawn import Drawn
from camkit.drawing.read import read
from camkit.drawing.select import meant, select
from camkit.errors import Finding, InputError, has_error
from camkit.job.doubts import doubts
from camkit.job.model import Job, Machine
from camkit.joinery.coupon import Coupon
from camkit.joinery.coupon_readings import coupon_told
from camkit.joinery.fit import fit
from camkit.joinery.fitted import Fitted
from camkit.joinery.sheet_readings import readings_told
from camkit.layout.check import check_sheet
from camkit.layout.place import place
from camkit.layout.sheet import SheetUse
from camkit.part import Part, Placed
from camkit.program.motion import Reading
from camkit.program.runs import written
from camkit.program.told import words_told
from camkit.program.wish import EVERYTHING, Wish, check_air, chosen, known_pieces, pieces_wished
from camkit.simulation.judge import judge, judge_air, run_of, told_time
from camkit.simulation.situation import ALONE, Situation
from camkit.simulation.verdict import Verdict
from camkit.toolpath.plan import plan

__all__ = [
    "JudgedProgram",
    "Prepared",
    "Progress",
    "Result",
    "SheetUse",
    "drawn_thicknesses",
    "judged",
    "judged_in_order",
    "make",
    "make_coupon",
    "prepare",
    "sheet_numbered",
    "shown",
    "timed",
]

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class JudgedProgram:
    """A program's text, what a reader that never saw the planner found in it, and what the judge said."""

    name: str
    sheet: int
    text: str
    reading: Reading
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Prepared:
    """A job as far as the sheets are laid: enough to judge anybody's program against."""

    job: Job
    sheets: tuple[SheetUse, ...]
    fitted: Fitted
    placed: tuple[Placed, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Result:
    """Everything that the report shows; `findings` are those made before the judge spoke."""

    job: Job
    sheets: tuple[SheetUse, ...]
    fitted: Fitted
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    programs: tuple[JudgedProgram, ...]
    findings: tuple[Finding, ...]
    wish: Wish = EVERYTHING

    @property
    def ok(self) -> bool:
        """Whether every program is sound and no earlier finding of level error stands."""
        return not has_error(self.findings) and all(p.verdict.ok for p in self.programs)


def _silent(_: str) -> None:
    """No progress wanted."""


def prepare(job: Job, folder: pathlib.Path, progress: Progress = _silent) -> Prepared:
    """Read the job's drawings (named relative to `folder`), fit the joints and lay the parts on sheets.

    Raises InputError when a drawing cannot be read, when nothing in them is a part to cut, when the sheet's
    readings are plainly inches, or when those of a coupon contradict.
    """
    weighed = [*(said for stock in job.sheets_used() for said in readings_told(stock)), *coupon_told(job)]
    files = job.drawings.files or tuple(dict.fromkeys(row.drawing for row in job.part if row.drawing))
    progress("Reading drawings")
    drawings = [read(folder / name, unit=job.drawings.unit, rules=job.layer_rules()) for name in files]
    wanted, findings = _wanted(drawings, job)
    progress("Fitting joints")
    stocks = [job.sheet_of(row) for row in job.part] or [job.sheet[0]] * len(wanted)
    fitted = fit([part for _, part in wanted], job, stocks)
    progress("Laying parts on the sheet")
    numbered = [(drawing, part) for (drawing, _), part in zip(wanted, fitted.parts, strict=True)]
    layout = place(numbered, job, stocks, drawings)
    read_so = tuple(_other_face(finding, job) for drawn in drawings for finding in drawn.findings)
    said = (*doubts(job), *weighed, *read_so, *findings, *fitted.findings, *layout.findings)
    return Prepared(job, layout.sheets, fitted, layout.placed, said)


def _other_face(finding: Finding, job: Job) -> Finding:
    """What needs the face that lies down is refused, unless rows say by name which parts are cut as drawn."""
    if finding.rule != "other-face" or job.part:
        return finding
    remedy = (
        'Give them a layer that means "ignore" and cut that face by a job of its own, or name the parts that '
        "are cut without them in [[part]] rows"
    )
    return replace(finding, level="error", remedy=remedy)


def drawn_thicknesses(job: Job, drawings: Sequence[Drawn]) -> list[list[float]] | None:
    """The thickness that every part of some drawings is drawn for, as far as the job's rows mean it.

    A sheet that does not say is taken for its readings; None where no sheet of the job says.
    """
    if all(sheet.drawn_thickness is None for sheet in job.sheet):
        return None
    first = job.sheet[0]
    found = [[first.drawn_thickness or first.thickness] * len(drawn.parts) for drawn in drawings]
    for row in job.part:
        place, sheet = meant(drawings, row), job.sheet_of(row)
        if place is not None:
            found[place[0]][place[1]] = sheet.drawn_thickness or sheet.thickness
    return found


def _wanted(drawings: Sequence[Drawn], job: Job) -> tuple[list[tuple[int, Part]], tuple[Finding, ...]]:
    """The parts to cut, each with the index of its drawing: the job's rows, or every part drawn."""
    if job.part:
        selection = select(drawings, job.part)
        return list(selection.parts), selection.findings
    wanted = [(i, part) for i, drawn in enumerate(drawings) for part in drawn.parts]
    if not wanted:
        said = [f for d in drawings for f in d.findings if f.level != "note"]
        files = ", ".join(d.path for d in drawings)
        raise InputError(
            Finding(
                "error",
                "no-parts",
                f"no closed outline to cut in {files}" if files else "the job names no drawing",
                "See which outlines are open with 'camkit inspect'"
                if files
                else "Name it under [drawings] files",
            ),
            *said,
        )
    return wanted, ()


def sheet_numbered(prepared: Prepared, number: int) -> SheetUse:
    """The sheet with this number; raises InputError, naming those there are, when there is none such."""
    for sheet in prepared.sheets:
        if sheet.number == number:
            return sheet
    numbers = ", ".join(str(sheet.number) for sheet in prepared.sheets)
    raise InputError(Finding("error", "words", f"the job has no sheet {number}", f"Choose among: {numbers}"))


def judged(
    prepared: Prepared, sheet: SheetUse, name: str, text: str, situation: Situation = ALONE
) -> JudgedProgram:
    """Anybody's program for one of the sheets, read and judged."""
    here = [piece for piece in prepared.placed if piece.sheet == sheet.number]
    said = judge(
        text, here, prepared.job, sheet_size=sheet.size, thickness=sheet.thickness, situation=situation
    )
    return JudgedProgram(name, sheet.number, text, said.reading, said.verdict)


def judged_in_order(
    prepared: Prepared, sheet: SheetUse, named: Sequence[tuple[str, str]], situation: Situation = ALONE
) -> tuple[JudgedProgram, ...]:
    """Programs of one sheet (name, text) in running order, each judged knowing what those before it cut.

    What stays uncut is told of the last. `situation` is that of the first of them and of the last.
    """
    done: list[JudgedProgram] = []
    for k, (name, text) in enumerate(named):
        before = (*situation.before, *(program.reading for program in done))
        more = situation.more_follow or k < len(named) - 1
        now = replace(situation, before=before, more_follow=more)
        done.append(judged(prepared, sheet, name, text, now))
    return tuple(done)


def timed(text: str, name: str, job: Job | None) -> JudgedProgram:
    """Anybody's program with the time that the job's machine takes for it; without a job, an assumed one."""
    machine = job.machine if job is not None else Machine()
    said = told_time(text, machine, job.cutter if job is not None else ())
    return JudgedProgram(name, 1, text, said.reading, said.verdict)


def shown(
    job: Job, folder: pathlib.Path, name: str, text: str, number: int, progress: Progress = _silent
) -> Result:
    """Anybody's program for the job's sheet of that number as a result that can be drawn.

    Raises InputError when there is no such sheet.
    """
    prepared = prepare(job, folder, progress)
    progress("Judging the program")
    program = judged(prepared, sheet_numbered(prepared, number), name, text)
    return Result(job, prepared.sheets, prepared.fitted, prepared.placed, (), (program,), prepared.findings)


def make(
    job: Job,
    folder: pathlib.Path,
    name: str,
    progress: Progress = _silent,
    wish: Wish = EVERYTHING,
) -> Result:
    """From the job to judged programs, one or several a sheet; `name` begins the programs' names.

    With a `wish` only those of the sheets that it touches, judged for what it wants of them.
    Raises InputError for what is badly asked; everything else that is wrong is a finding of the result.
    """
    return _programmed(prepare(job, folder, progress), name, progress, wish)


def make_coupon(piece: Coupon, name: str, progress: Progress = _silent) -> Result:
    """From a test coupon to its judged program: the way of every job, only that its pieces are drawn here.

    Raises InputError when the sheet's readings are plainly inches.
    """
    job, sheet = piece.job, SheetUse(1, piece.size, piece.stock)
    placed = tuple(Placed(part, part) for part in piece.parts)
    findings = (
        *doubts(job),
        *readings_told(piece.stock),
        *piece.findings,
        *check_sheet(placed, sheet, job),
    )
    return _programmed(Prepared(job, (sheet,), Fitted(piece.parts), placed, findings), name, progress)


def _programmed(prepared: Prepared, name: str, progress: Progress, wish: Wish = EVERYTHING) -> Result:
    """Cuts and judged programs for sheets that are laid."""
    job = prepared.job
    planned: list[Cut] = []
    findings = list(prepared.findings)
    for sheet in prepared.sheets:
        progress(f"Planning cuts, sheet {sheet.number}")
        here = [piece for piece in prepared.placed if piece.sheet == sheet.number]
        plan_here = plan(here, job, sheet.size, sheet.thickness, first_number=len(planned) + 1)
        planned += plan_here.cuts
        findings += plan_here.findings
    cuts, done = chosen(planned, wish)
    check_air(cuts, wish)
    sheets = prepared.sheets if wish.whole else _sheets_of(cuts, prepared.sheets)
    programs: list[JudgedProgram] = []
    for sheet in sheets:
        progress(f"Judging the program, sheet {sheet.number}")
        its = [cut for cut in cuts if cut.sheet == sheet.number]
        title = f"{name}-{sheet.number}{wish.suffix}"
        runs = written(
            its, job, sheet.stock, name=title, size=sheet.size, says=wish.says(done), higher=wish.higher
        )
        named = [(run.name, run.text) for run in runs]
        if wish.higher:
            programs += [_judged_in_air(prepared, sheet, *one) for one in named]
        else:
            before = written(done, job, sheet.stock, name=title, size=sheet.size) if done else ()
            situation = Situation(
                tuple(run_of(run.text, job, sheet.size) for run in before),
                asked=pieces_wished(wish, known_pieces(planned)),
            )
            programs += judged_in_order(prepared, sheet, named, situation)
    findings += words_told(cuts, job)
    numbers = {sheet.number for sheet in sheets}
    return Result(
        job,
        tuple(sheets),
        prepared.fitted,
        tuple(piece for piece in prepared.placed if piece.sheet in numbers),
        cuts,
        tuple(programs),
        tuple(findings),
        wish,
    )


def _sheets_of(cuts: Sequence[Cut], sheets: Sequence[SheetUse]) -> tuple[SheetUse, ...]:
    numbers = {cut.sheet for cut in cuts}
    return tuple(sheet for sheet in sheets if sheet.number in numbers)


def _judged_in_air(prepared: Prepared, sheet: SheetUse, name: str, text: str) -> JudgedProgram:
    said = judge_air(text, prepared.job, sheet_size=sheet.size, thickness=sheet.thickness)
    return JudgedProgram(name, sheet.number, text, said.reading, said.verdict)
