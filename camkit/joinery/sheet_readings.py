"""What the readings of a sheet say: whether it is the sheet meant, and whether its joints can be fitted.

Mean and spread are those of `Sheet.thickness` and `Sheet.spread`. Lengths in mm.
"""

from __future__ import annotations

from dataclasses import replace

from camkit.errors import Finding, InputError
from camkit.job.model import Sheet

__all__ = ["SPREAD", "cannot_fit", "nominal_near", "readings_told", "sanded_band"]

# Largest difference inside one sanded panel: GB/T 9846 table 2 and a birch maker's table; it is assumed where
# a single reading says nothing.
SPREAD = 0.6
# A sheet further from the drawing than this asks for another drawing (common practice, no source).
_STRETCH = 1.0
# No plywood is this thin, but every thickness in inches is.
_INCHES = 1.0
# One reading or two do not show a spread (common practice; EN 324-1 takes eight).
_ENOUGH = 3
# The formula of the band holds above 3 up to 25; a birch maker's table carries it on to 30.
_LEAST_NOMINAL, _LARGEST_NOMINAL = 3.0, 30.0
# Thicknesses of a birch maker's table (6.5 to 30, 1.4 mm veneers).
_NOMINAL = (6.5, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 30.0)
# Unsanded panels of US performance categories, the names in inches (PS 1-19 by the makers' association).
_CATEGORIES = (
    ("15/32 in", 11.13, 12.70),
    ("1/2 in", 11.91, 13.49),
    ("19/32 in", 14.29, 15.88),
    ("23/32 in", 17.46, 19.05),
    ("3/4 in", 18.26, 19.84),
)


def sanded_band(nominal: float) -> tuple[float, float]:
    """Lowest and highest thickness of a sanded plywood panel sold as `nominal`, above 3 up to 30.

    +(0.2 + 0.03 t) / -(0.4 + 0.03 t): GB/T 9846 table 2, as it is said to stand in EN 315; at 10 % moisture.

    >>> sanded_band(18.0)
    (17.06, 18.74)
    """
    return round(nominal - 0.4 - 0.03 * nominal, 3), round(nominal + 0.2 + 0.03 * nominal, 3)


def nominal_near(thickness: float) -> str | None:
    """The nominal thickness that a sheet of this mean may be sold as, in words; None outside every band.

    Metric sizes come first, the nearest of them; then the categories in inches.
    """
    metric = [n for n in _NOMINAL if sanded_band(n)[0] <= thickness <= sanded_band(n)[1]]
    if metric:
        return f"{min(metric, key=lambda n: abs(n - thickness)):g} mm"
    return next((name for name, low, high in _CATEGORIES if low <= thickness <= high), None)


def cannot_fit(sheet: Sheet) -> Finding | None:
    """Why joints drawn for `sheet.drawn_thickness` cannot be fitted to the sheet, or None.

    One error at most: rule `sheet-inches` when a thickness is below 1, else `redraw` when the sheet lies more
    than 1 mm from the drawing.
    """
    said = _mismatch(sheet)
    return None if said is None else _about(sheet, said)


def _about(sheet: Sheet, said: Finding) -> Finding:
    return replace(said, message=sheet.about(said.message))


def _mismatch(sheet: Sheet) -> Finding | None:
    drawn, thickness = sheet.drawn_thickness, sheet.thickness
    if drawn is None:
        return None
    if min(sheet.measured_thickness) < _INCHES or drawn < _INCHES:
        return _inches(sheet)
    if abs(thickness - drawn) <= _STRETCH:
        return None
    other = nominal_near(thickness)
    sold = f", as sheets sold as {other} do" if other and other != f"{drawn:g} mm" else ""
    return Finding(
        "error",
        "redraw",
        f"the sheet measures {thickness:.2f} mm{sold}, the drawing is for {drawn:g} mm; no joint is fitted",
        "Redraw rather than stretch, or correct drawn_thickness or measured_thickness",
        amount_mm=thickness - drawn,
    )


def readings_told(sheet: Sheet) -> tuple[Finding, ...]:
    """Doubts about the readings, each with what to do; nothing more where `cannot_fit` says `redraw`.

    Raises InputError where readings or drawn thickness are plainly inches: every later size would be wrong.

    Warnings: `sheet-inches`, `sheet-spread` (more than 0.6), `sheet-band` (mean outside the band of the drawn
    thickness, or of every nominal one) and `sheet-readings` (a single reading, for a drawing whose joints are
    fitted); two readings are a note.
    """
    said = cannot_fit(sheet)
    if said is not None:
        if said.rule == "sheet-inches":
            raise InputError(said)
        return ()
    if min(sheet.measured_thickness) < _INCHES:
        return (_about(sheet, _inches(sheet)),)
    findings = (_band(sheet), _spread(sheet), _number(sheet))
    return tuple(_about(sheet, finding) for finding in findings if finding is not None)


def _inches(sheet: Sheet) -> Finding:
    drawn = sheet.drawn_thickness
    least = min(sheet.measured_thickness)
    remedy = f'Write inches as text, "{least:g} in"'
    if drawn is None:
        what = f"sheet.measured_thickness: {least:g} mm is thinner than any plywood; a reading in inches?"
        return Finding("warning", "sheet-inches", what, remedy)
    if least >= _INCHES:
        what = f"sheet.drawn_thickness: {drawn:g} mm is thinner than any plywood; inches?"
        return Finding("error", "sheet-inches", what, f'Write inches as text, "{drawn:g} in"')
    what = (
        f"sheet.measured_thickness: {least:g} mm is thinner than any plywood, the drawing is for {drawn:g} "
        "mm; a reading in inches?"
    )
    return Finding("error", "sheet-inches", what, remedy)


def _band(sheet: Sheet) -> Finding | None:
    drawn, mean = sheet.drawn_thickness, sheet.thickness
    if "ply" not in sheet.material.casefold() or not _LEAST_NOMINAL < (drawn or mean) <= _LARGEST_NOMINAL:
        return None
    other = nominal_near(mean)
    if drawn is None:
        if other is not None or mean < sanded_band(_NOMINAL[0])[0]:
            return None  # thinner kinds are sold in too many sizes to doubt one
        return Finding(
            "warning",
            "sheet-band",
            f"the sheet measures {mean:.2f} mm, which no nominal thickness of sanded plywood allows",
            "Measure again where the edge has no burr, or name the material",
            amount_mm=mean,
        )
    low, high = sanded_band(drawn)
    if low <= mean <= high:
        return None
    instead = "" if other in (None, f"{drawn:g} mm") else f", such as {other}"
    return Finding(
        "warning",
        "sheet-band",
        f"the sheet measures {mean:.2f} mm; sanded plywood sold as {drawn:g} mm has {low:g} to {high:g}; "
        f"another nominal thickness{instead}?",
        "Measure again, or correct drawn_thickness if the drawing was made for another sheet",
        amount_mm=mean - drawn,
    )


def _spread(sheet: Sheet) -> Finding | None:
    if sheet.spread is None or sheet.spread <= SPREAD + 1e-9:
        return None
    return Finding(
        "warning",
        "sheet-spread",
        f"the readings of the sheet differ by {sheet.spread:.2f} mm, more than the {SPREAD:g} that one "
        "panel may",
        "Measure again, or cut all joints from one end of the sheet and give its readings only",
        amount_mm=sheet.spread,
    )


def _number(sheet: Sheet) -> Finding | None:
    number = len(sheet.measured_thickness)
    if sheet.drawn_thickness is None or number >= _ENOUGH:
        return None
    remedy = "Measure at corners and mid-sides, 50 mm in from the edge, and where tenons will lie"
    if number == 1:
        what = f"one reading of the sheet: its spread is unknown, {SPREAD:g} mm is assumed"
        return Finding("warning", "sheet-readings", what, remedy)
    return Finding("note", "sheet-readings", "two readings of the sheet hardly show its spread", remedy)
