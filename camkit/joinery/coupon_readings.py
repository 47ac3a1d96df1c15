"""What the readings of a test coupon mean: clearance by kind of joint, the cutter's error, backlash.

Lengths in mm. The rules are common practice, without a source; the sums are plain geometry: a mark is the
clearance between slot and sheet as programmed, cutter and machine errors included. With e = measured less
programmed, an opening is off by the cutter's error less the backlash, an outside size by minus both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from camkit.errors import Finding, InputError
from camkit.job.measured import BLOCK, LARGEST_MARK, MARK_STEP, SMALLEST_MARK, Mark, Measured
from camkit.job.model import Cutter, Job, JointKind

__all__ = ["MachineErrors", "clearance_of", "coupon_told", "machine_errors"]

# Readings of X and Y that differ by more than one step: the axes cut differently (common practice).
_AXES = MARK_STEP
# A tongue and the sheet it is cut from differ no more than one sanded panel does (GB/T 9846 table 2).
_PANEL = 0.6
# A slot or block further off than this is another one, or misread (common practice).
_MISREAD = 0.5
# Play of the slot that a tongue just enters by hand, as its width and thickness measure it (common practice).
_ENTERS = (-0.15, 0.3)
# Callipers agree this closely (common practice).
_CALLIPERS = 0.05
# From here a cutter's error is worth a new coupon with the right diameter: outside sizes carry it too.
_WORTH = 0.1
_EXACT = 1e-9

_ASK_AGAIN = "Measure again, and correct [fit.measured]"


@dataclass(frozen=True, slots=True)
class MachineErrors:
    """The cutter's true diameter less the one entered, along X and Y, and each axis's backlash."""

    cutter: tuple[float, float]
    backlash: tuple[float, float]

    @property
    def cutter_mean(self) -> float:
        """One cutter, read twice."""
        return sum(self.cutter) / 2


def clearance_of(measured: Measured, kind: JointKind) -> float:
    """The clearance that the coupon gives a kind of joint: mark + T - T' with the tongue T' thick.

    Knock-down joints take the narrowest slot entered by hand, press joints the narrowest by light mallet,
    glued ones a step looser than press. Of X and Y the looser counts, so that every joint goes in.
    Raises InputError with everything that contradicts.
    """
    faults = [*_faults(measured, kind)]
    if faults:
        raise InputError(*faults)
    marks = measured.by_hand if kind == "knock-down" else measured.by_mallet
    looser = max(mark for mark in marks or () if mark != "none")
    return round(looser + (MARK_STEP if kind == "glued" else 0.0) + _thinner(measured), 4)


def machine_errors(measured: Measured) -> MachineErrors | None:
    """Cutter error (e_slot - e_block) / 2, backlash -(e_slot + e_block) / 2; None without both."""
    if measured.widest_slot is None or measured.block is None:
        return None
    slot = [size - (measured.cut_for + LARGEST_MARK) for size in measured.widest_slot]
    block = [size - BLOCK for size in measured.block]
    (sx, sy), (bx, by) = slot, block
    return MachineErrors(((sx - bx) / 2, (sy - by) / 2), (-(sx + bx) / 2, -(sy + by) / 2))


def coupon_told(job: Job) -> tuple[Finding, ...]:
    """What the readings say, rule `coupon`; nothing without any.

    Raises InputError when they contradict each other, or were taken with another cutter than the job's.
    """
    measured = job.fit.measured
    if measured is None:
        return ()
    faults = [*_faults(measured, job.fit.kind), *_other_cutter(measured, job.cutter)]
    if faults:
        raise InputError(*faults)
    return (_clearance_told(measured, job), *_errors_told(measured))


def _thinner(measured: Measured) -> float:
    return 0.0 if measured.tongue is None else measured.cut_for - measured.tongue


def _fault(key: str, message: str, remedy: str) -> Finding:
    return Finding("error", "coupon", f"fit.measured.{key}: {message}", remedy)


def _faults(measured: Measured, kind: JointKind) -> Iterator[Finding]:
    """Everything that is missing or contradicts, most telling first."""
    hand, mallet = measured.by_hand, measured.by_mallet
    needed = ("by_hand", hand) if kind == "knock-down" else ("by_mallet", mallet)
    if needed[1] is None:
        yield _fault(needed[0], f"is missing, and {kind} joints take their clearance from it", "Write it")
    if measured.tongue is not None and abs(measured.tongue - measured.cut_for) > _PANEL:
        yield _fault(
            "tongue",
            f"{measured.tongue:g} is {abs(measured.tongue - measured.cut_for):.2f} off the sheet of "
            f"{measured.cut_for:g} that the coupon was cut for",
            "Cut the tongue from the same sheet, or measure again",
        )
    yield from _wrong_sheet(hand, mallet)
    for key, marks in (("by_hand", hand), ("by_mallet", mallet)):
        if marks is not None and _apart(marks) > _AXES + _EXACT:
            x, y = marks
            yield _fault(
                key,
                f"X {x:.2f} and Y {y:.2f} differ by {_apart(marks):.2f}, over one step: backlash or belt",
                "Mend the axis first, then cut another coupon",
            )
    yield from _harder_by_mallet(hand, mallet)
    yield from _misread(measured)
    yield from _enters(measured)


def _apart(marks: tuple[Mark, Mark]) -> float:
    x, y = marks
    return 0.0 if x == "none" or y == "none" else abs(x - y)


def _wrong_sheet(hand: tuple[Mark, Mark] | None, mallet: tuple[Mark, Mark] | None) -> Iterator[Finding]:
    remedy = "Check measured_thickness and the cutter's diameter, then cut another coupon"
    for key, marks in (("by_hand", hand), ("by_mallet", mallet)):
        if marks is not None and "none" in marks:
            yield _fault(key, "the tongue enters no slot: wrong thickness or cutter", remedy)
    if hand is not None and any(mark != "none" and mark <= SMALLEST_MARK for mark in hand):
        yield _fault("by_hand", "the tongue enters every slot by hand: wrong thickness or cutter", remedy)


def _harder_by_mallet(hand: tuple[Mark, Mark] | None, mallet: tuple[Mark, Mark] | None) -> Iterator[Finding]:
    for axis, by_hand, by_mallet in zip("XY", hand or (), mallet or (), strict=False):
        if by_hand != "none" and by_mallet != "none" and by_mallet > by_hand:
            yield _fault(
                "by_mallet",
                f"along {axis} a mallet needs {by_mallet:.2f}, yet by hand {by_hand:.2f} goes in",
                "Write the narrowest slot of each; by mallet it is the same or a narrower one",
            )


def _misread(measured: Measured) -> Iterator[Finding]:
    """Sizes far off what was programmed, one of the two missing, or a backlash that cannot be."""
    for key, sizes, meant in (
        ("widest_slot", measured.widest_slot, measured.cut_for + LARGEST_MARK),
        ("block", measured.block, BLOCK),
    ):
        for axis, size in zip("XY", sizes or (), strict=False):
            if abs(size - meant) > _MISREAD:
                yield _fault(key, f"{size:g} along {axis} is far off the {meant:.2f} programmed", _ASK_AGAIN)
    errors = machine_errors(measured)
    if errors is None:
        if measured.widest_slot is not None or measured.block is not None:
            missing = "block" if measured.block is None else "widest_slot"
            yield _fault(
                missing, "is missing: slot and block only tell something together", "Write both or none"
            )
        return
    for axis, backlash in zip("XY", errors.backlash, strict=True):
        if backlash < -_CALLIPERS - _EXACT:
            yield _fault(
                "block",
                f"slot and block along {axis} contradict: they make a backlash of {backlash:.2f}",
                _ASK_AGAIN,
            )


def _enters(measured: Measured) -> Iterator[Finding]:
    """The slot that went in by hand against its measured width: it must be about as wide as the tongue."""
    if measured.widest_slot is None or measured.by_hand is None or measured.tongue is None:
        return
    for axis, size, mark in zip("XY", measured.widest_slot, measured.by_hand, strict=True):
        if mark == "none" or abs(size - measured.cut_for - LARGEST_MARK) > _MISREAD:
            continue
        play = size - LARGEST_MARK + mark - measured.tongue
        low, high = _ENTERS
        if not low - _EXACT <= play <= high + _EXACT:
            tight = f"{-play:.2f} narrower" if play < 0 else f"{play:.2f} wider"
            yield _fault(
                "by_hand",
                f"along {axis} slot {mark:.2f} must then be {tight} than the tongue by what was measured",
                _ASK_AGAIN,
            )


def _other_cutter(measured: Measured, cutters: Sequence[Cutter]) -> list[Finding]:
    if any(c.mills and abs(c.diameter - measured.cutter) < 1e-6 for c in cutters):
        return []
    return [
        _fault(
            "cutter",
            f"the coupon was made with a cutter of {measured.cutter:g} mm, which the job does not have",
            "Cut a coupon with the job's cutter and the diameter it has now, or take [fit.measured] out",
        )
    ]


def _clearance_told(measured: Measured, job: Job) -> Finding:
    kind = job.fit.kind
    clearance = clearance_of(measured, kind)
    thinner = _thinner(measured)
    mark = clearance - thinner
    tongue = f", and {thinner:+.2f} for its tongue" if abs(thinner) >= 0.005 else ""
    return Finding(
        "note",
        "coupon",
        f"{kind} joints get a clearance of {clearance:.2f} as a coupon measured: mark {mark:.2f}{tongue}; "
        f"clearance = {job.fit.clearance:g} in [fit] is not used",
    )


def _errors_told(measured: Measured) -> list[Finding]:
    errors = machine_errors(measured)
    if errors is None:
        return []
    cutter = errors.cutter_mean
    x, y = (max(0.0, backlash) for backlash in errors.backlash)
    message = (
        f"by the coupon the cutter cuts {measured.cutter + cutter:.2f} wide, {cutter:+.2f} from the diameter "
        f"entered, and backlash is {x:.2f} along X, {y:.2f} along Y"
    )
    if abs(cutter) > _WORTH or max(x, y) > _WORTH:
        return [
            Finding(
                "warning",
                "coupon",
                f"{message}; joints are made up for it, outside sizes are off by as much",
                f"Write diameter = {measured.cutter + cutter:.2f} and cut another coupon"
                if abs(cutter) > _WORTH
                else "Mend the axis, then cut another coupon",
                amount_mm=max(abs(cutter), x, y),
            )
        ]
    return [Finding("note", "coupon", f"{message}; the clearance measured holds both already")]
