"""RS-274 text read back: any text, whoever wrote it, as motions in mm (NISTIR 6556)."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace

from camkit.errors import Finding
from camkit.program.motion import CutMark, Motion, Reading
from camkit.program.read_block import Block, take_apart
from camkit.program.read_command import command
from camkit.program.read_error import BlockError
from camkit.program.read_machine import Machine

__all__ = ["read"]

_LINE_END = re.compile(r"\r\n|\n|\r")
_NAMED = re.compile(r"\s*CUTTER\s+(\d{1,5})(?:\s.*)?", re.IGNORECASE)
_MARK = re.compile(r"\s*CUT\s+(\d{1,9})\s+(\S+)\s+(\S.*?)\s*", re.IGNORECASE)
# 3.2.1: from here parameters hold the control's own positions and offsets.
_FIRST_OFFSET_PARAMETER = 5161


def read(text: str) -> Reading:
    """Every motion of the program, with its line, and a finding for each rule of the standard that it breaks.

    Never raises on any text. After a bad block reading goes on: a word that is not understood is passed over,
    a line whose meaning stays unclear is left out, both as `bad-block` findings of level error;
    `arc-mismatch` tells of arcs whose radii differ too much. Lines that may be deleted (/) are carried out,
    G54 is the sheet's own zero, F belongs to the unit of its own line, and the program begins at X0 Y0 at the
    first height that it names.
    """
    return _Reader(_LINE_END.split(text)).run()


class _Reader:
    def __init__(self, lines: list[str]) -> None:
        """Begin with the lines of a text, none read yet."""
        if lines and not lines[-1].strip():
            lines.pop()
        self.lines = lines
        self.line = 0
        self.findings: list[Finding] = []
        self.marks: list[CutMark] = []
        self.named: list[tuple[int, int, int]] = []
        self.parameters: dict[int, float] = {}
        self.machine = Machine(self.say)
        self.deletable_said = False

    def say(self, fault: BlockError) -> None:
        self.findings.append(fault.at_line(max(self.line, 1)))

    def run(self) -> Reading:
        opened: int | None = None
        begun = closed = False
        for number, line in enumerate(self.lines, start=1):
            self.line = number
            if not line.strip():
                continue
            if line.strip() == "%":
                if begun:
                    closed = True
                    break
                opened, begun = self.line, True
                continue
            begun = True
            self.block(line)
            if self.machine.ended:
                break
        self.check_ends(opened, closed)
        motions = self.machine.motions
        return Reading(
            _at_known_heights(motions) if self.machine.height_unknown else tuple(motions),
            tuple(self.machine.dwells),
            tuple(self.marks),
            tuple(self.machine.changes),
            tuple(self.findings),
            self.line,
            closed or self.machine.ended,
            tuple(self.named),
            tuple(self.machine.stops),
        )

    def block(self, line: str) -> None:
        try:
            block = take_apart(line, self.parameters)
            for fault in block.faults:
                self.say(fault)
            self.note_deletable(block)
            self.mark(block)
            if block.words:
                self.machine.carry_out(command(block.words, self.machine.motion_in_force), self.line)
            for index, value in block.settings:
                self.set_parameter(index, value)
        except BlockError as fault:
            self.say(fault)

    def mark(self, block: Block) -> None:
        if not block.comment:
            return
        before = len(self.machine.motions)
        if cut := _MARK.fullmatch(block.comment):
            self.marks.append(CutMark(int(cut[1]), cut[2], cut[3], self.line, before))
        elif cutter := _NAMED.fullmatch(block.comment):
            self.named.append((self.line, before, int(cutter[1])))

    def note_deletable(self, block: Block) -> None:
        if block.deletable and not self.deletable_said:
            self.deletable_said = True
            self.say(
                BlockError(
                    "lines that begin with / are read as if block delete were off (3.3)",
                    "Keep block delete off when running it, or remove these lines",
                    level="note",
                )
            )

    def set_parameter(self, index: int, value: float) -> None:
        self.parameters[index] = value
        if index >= _FIRST_OFFSET_PARAMETER:
            self.say(
                BlockError(
                    f"#{index} holds an offset of the control: positions from here are not known (3.2.1)",
                    "Use parameters below 5161",
                )
            )

    def check_ends(self, opened: int | None, closed: bool) -> None:
        if opened is None and closed:
            self.say(
                BlockError("a % stands behind blocks that no % opened (3.1)", "Begin the file with a % line")
            )
        elif opened is not None and not closed and not self.closes_later():
            self.findings.append(
                BlockError(
                    "the file begins with % but no second % closes it (3.1)", "End it with a % line"
                ).at_line(opened)
            )
        elif opened is None and not closed and not self.machine.ended:
            self.say(BlockError("the program ends without M2, M30 or % (3.1)", "End it with M2 or M30"))

    def closes_later(self) -> bool:
        return any(line.strip() == "%" for line in self.lines[self.line :])


def _at_known_heights(motions: Iterable[Motion]) -> tuple[Motion, ...]:
    """Motions before the first Z word get the height that the following ones start from."""
    done: list[Motion] = []
    known = 0.0
    for motion in reversed(list(motions)):
        if math.isnan(motion.start[2]) or math.isnan(motion.end[2]):
            end = known if math.isnan(motion.end[2]) else motion.end[2]
            start = known if math.isnan(motion.start[2]) else motion.start[2]
            motion = replace(motion, start=(*motion.start[:2], start), end=(*motion.end[:2], end))
        known = motion.start[2]
        done.append(motion)
    return tuple(reversed(done))
