"""The interactive preview: one HTML file that opens offline and asks the network for nothing."""

from __future__ import annotations

import base64
import hashlib
import json
from html import escape
from importlib.resources import files

from camkit.pipeline import Result
from camkit.report.names import program_title
from camkit.report.paper import MARK
from camkit.report.preview_data import page_data
from camkit.report.words import verdict_words

__all__ = ["preview_html"]

_SCRIPTS = ("moves.js", "draw.js", "page.js", "controls.js")


def preview_html(result: Result) -> str:
    """The whole page as text; the same result gives the same bytes.

    Only the style and the script shipped here may run: the page's policy names their SHA-256 and refuses
    everything else (W3C Content Security Policy Level 3, section 2.3.1).
    """
    page = files("camkit.report") / "page"
    style = (page / "page.css").read_text("utf-8")
    script = "\n".join((page / name).read_text("utf-8") for name in _SCRIPTS)
    options = "".join(
        f'<option value="{n}">{escape(program_title(program, result))}</option>'
        for n, program in enumerate(result.programs)
    )
    filling = {
        "POLICY": f"default-src 'none'; script-src '{_sha256(script)}'; style-src '{_sha256(style)}'; "
        "base-uri 'none'; form-action 'none'",
        "MARK": MARK,
        "TITLE": escape(result.job.title or "Untitled job"),
        "VERDICT": "sound" if result.ok else "refused",
        "WORDS": escape(verdict_words(result)),
        "PROGRAMS": options,
        "STYLE": style,
        "SCRIPT": script,
        # No "<" may stand in a data block: it could end the block early (HTML standard, script data states).
        "DATA": json.dumps(page_data(result), ensure_ascii=False, separators=(",", ":")).replace(
            "<", "\\u003c"
        ),
    }
    # Split rather than replace: what is filled in is never searched for further places.
    pieces = (page / "page.html").read_text("utf-8").split("@")
    return "".join(piece if n % 2 == 0 else filling[piece] for n, piece in enumerate(pieces))


def _sha256(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode()
