"""The coupon's sheet of paper: how to try it, fields for readings, and the lines to write into the job."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from html import escape
from importlib.resources import files

from camkit.job.measured import BLOCK, LARGEST_MARK
from camkit.joinery.coupon import Coupon
from camkit.joinery.coupon_marks import step_text
from camkit.pipeline import Result
from camkit.report.coupon_picture import coupon_svg
from camkit.report.names import program_title
from camkit.report.paper import MARK
from camkit.report.words import TIMES, clock, length_text

__all__ = ["coupon_html"]

_PRIME = "\N{PRIME}"
_MINUS = "\N{MINUS SIGN}"
_BLANK = "_____"


def coupon_html(result: Result, piece: Coupon) -> str:
    """The page as text, on one A4; it asks the network for nothing and runs no script."""
    page = files("camkit.report") / "page"
    style = (page / "coupon.css").read_text("utf-8")
    filling = {
        "POLICY": f"default-src 'none'; style-src '{_sha256(style)}'; base-uri 'none'; form-action 'none'",
        "MARK": MARK,
        "STYLE": style,
        "TITLE": escape(piece.job.title),
        **_block(result, piece),
        "PICTURE": coupon_svg(piece),
        "LEGEND": _legend(piece),
        "STEPS": _items(_steps(piece)),
        "MEANING": _items(_meaning(piece)),
        "ROWS": "".join(_rows(piece)),
        "LINES": _lines(piece),
        "SAFETY": _safety(),
    }
    pieces = (page / "coupon.html").read_text("utf-8").split("@")
    return "".join(text if n % 2 == 0 else filling[text] for n, text in enumerate(pieces))


def _sha256(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode()


def _items(sentences: Sequence[str]) -> str:
    return "".join(f"<li>{sentence}</li>" for sentence in sentences)


def _block(result: Result, piece: Coupon) -> dict[str, str]:
    """The values of the title block."""
    sheet, cutter = piece.stock, piece.cutter
    count, spread = len(sheet.measured_thickness), sheet.spread
    apart = "" if spread is None else f", {spread:.2f} apart"
    names = ", ".join(program_title(program, result) for program in result.programs)
    time = sum(program.verdict.time_s for program in result.programs)
    return {
        "READINGS": f"{count} reading{'s' if count > 1 else ''}{apart}",
        "SHEET": f"{escape(sheet.described)}<br>{piece.thickness:.2f} thick",
        "CUTTER": f"{cutter.number}, {cutter.kind}<br>{cutter.diameter:.2f} wide",
        "PASSES": f"{length_text(cutter.depth_of_pass)} deep<br>{piece.job.machine.direction}",
        "PROGRAM": f"{escape(names)}<br>{clock(time)}",
        "WORDS": "Sound" if result.ok else "Refused",
    }


def _legend(piece: Coupon) -> str:
    dot = '<svg viewBox="0 0 10 10"><circle cx="5" cy="5" r="5" fill="#c4c4c4"/></svg>'
    dash = '<svg viewBox="0 0 22 10"><rect width="22" height="10" rx="5" fill="#c4c4c4"/></svg>'
    words = [
        f"{dot} adds 0.10",
        f"{dash} adds 0.05",
        "with the letter upright, above a slot plus, below minus",
        f"unmarked: {piece.thickness:.2f} exactly",
    ]
    return "".join(f"<span>{word}</span>" for word in words)


def _steps(piece: Coupon) -> list[str]:
    widest = piece.thickness + LARGEST_MARK
    room = f"{piece.size[0]:.0f} {TIMES} {piece.size[1]:.0f}"
    steps = [
        f"Take {room} mm of the very sheet, grain as in the job. Hold and zero it as the job will be.",
        (
            "Cut off the tabs and pare their stumps flush. Break the edges with one stroke of sandpaper; "
            "leave faces and walls alone."
        ),
        f"Measure the tongue in three places; the mean is T{_PRIME}.",
        (
            "Stand its short end in the slots, from wide to narrow, first those of X, whose width lies along "
            "X. Note the narrowest that it enters by hand, and the narrowest by light taps of a mallet. "
            "Then Y."
        ),
        (
            f"Measure the slots marked {step_text(LARGEST_MARK)} (programmed {widest:.2f}) and the block "
            f"({BLOCK:.2f}) along X and along Y. The groove on the block lies along X. Keep clear of tabs "
            "and corners; measure twice."
        ),
    ]
    for dowel in dict.fromkeys(bore.dowel for bore in piece.bores):
        if any(bore.drilled for bore in piece.bores if bore.dowel == dowel):
            steps.append(f"Try a dowel of {dowel:g} in the drilled hole: it should slide in by hand.")
        else:
            steps.append(
                f"Try a dowel of {dowel:g} in the round holes, {_MINUS}0.1 to +0.3: note the narrowest that "
                "it slides into by hand."
            )
    return steps


def _meaning(piece: Coupon) -> list[str]:
    said = [
        (
            "Knock-down joints take the slot entered by hand, press joints the one by mallet, glued joints "
            "one step looser than press. Of X and Y the looser counts."
        ),
        (
            f"Clearance = mark + {piece.thickness:.2f} {_MINUS} T{_PRIME}. Errors of cutter and machine are "
            "in it; camkit does not add them again."
        ),
        (
            f"With e = measured {_MINUS} programmed, the cutter is wider than entered by (e slot {_MINUS} "
            f"e block) / 2, and backlash is {_MINUS}(e slot + e block) / 2. camkit works it out."
        ),
        "X and Y more than 0.05 apart: backlash or belt. Mend that first.",
        "All slots take the tongue by hand, or none: wrong thickness or wrong cutter.",
    ]
    if any(not bore.drilled for bore in piece.bores):
        said.append("The mark of the dowel's hole is <code>play</code> in [[glue_up]].")
    return said


def _rows(piece: Coupon) -> list[str]:
    widest = piece.thickness + LARGEST_MARK
    two = (
        "narrowest slot by hand",
        "by light mallet",
        f"width of slot {step_text(LARGEST_MARK)}, programmed {widest:.2f}",
        f"block, programmed {BLOCK:.2f}",
    )
    one = [f"tongue T{_PRIME}, sheet {piece.thickness:.2f}"]
    one += [f"hole for dowel {d:g}" for d in dict.fromkeys(b.dowel for b in piece.bores if not b.drilled)]
    return [
        *(f"<tr><th>{words}</th><td></td><td></td></tr>" for words in two),
        *(f'<tr><th>{words}</th><td></td><td class="empty"></td></tr>' for words in one),
    ]


def _lines(piece: Coupon) -> str:
    pair = f"[{_BLANK}, {_BLANK}]"
    return "\n".join(
        (
            "[fit.measured]",
            f"cut_for = {round(piece.thickness, 4):g}",
            f"cutter = {piece.cutter.diameter:.10g}",
            f"tongue = {_BLANK}",
            f"by_hand = {pair}",
            f"by_mallet = {pair}",
            f"widest_slot = {pair}",
            f"block = {pair}",
        )
    )


def _safety() -> str:
    return (
        "<b>Hands off until the spindle stands still.</b> Block and tongue are small: look at their tabs and "
        "hold-down before the last pass, and never hold a piece by hand while it is cut. Glasses and hearing "
        "protection; collect the dust. Pare tabs with it clamped, away from the hand; stay at the stop."
    )
