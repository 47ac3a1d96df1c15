"""What a text in a drawing says: a name, a quantity, sizes, or which face of the sheet is drawn."""

from __future__ import annotations

import re
from typing import Literal

from camkit.drawing.layer_words import words_of
from camkit.drawing.sketch import Label

__all__ = ["Face", "face_of", "is_note", "is_quantity", "quantity_of", "says_face_only"]

Face = Literal["front", "back"]

# A longer text is a note, not a name.
_LONGEST = 60
_COUNT = r"(\d{1,3})"
_PIECES = r"(?:off|pcs?|pieces?|st(?:ü|ue)ck|stk|st|pi[eè]ces?|piezas?|uds?|unidades)"
# Ways of writing a quantity: x4, 2x, 4 off, qty 4, 4 Stück, 4 pcs.
_QUANTITY = re.compile(
    rf"(?<![\w.,])(?:[x\u00d7]\s?{_COUNT}|{_COUNT}\s?[x\u00d7]|{_COUNT}\s?{_PIECES}\.?"
    rf"|(?:qty|quantity|anzahl|menge|stk|quantit[eé]|cantidad|cant)\.?\s?[:=]?\s?{_COUNT})(?![\w.,]\d|\w)",
    re.IGNORECASE,
)
_SIZE_BY_SIZE = re.compile(r"\d[\d.,]*\s*[x\u00d7]\s*\d[\d.,]*", re.IGNORECASE)
_SIZES = re.compile(r"\d\s*(?:mm|cm|in|\")?\s*[x\u00d7]\s*\d|\d\s*(?:mm|cm|inch|in\b|\")", re.IGNORECASE)

# A text or layer says which face it shows when it has one of these words, and no others than neutral ones.
_FRONT = """front obverse top upper vorne vorn vorderseite vorderansicht oben oberseite recto avant dessus
    anverso delante frontal superior a"""
_BACK = """back reverse rear bottom lower underside hinten ruckseite hinteransicht unten unterseite verso
    arriere dessous reverso detras trasera inferior b"""
_FACES: dict[str, Face] = {
    **dict.fromkeys(_FRONT.split(), "front"),
    **dict.fromkeys(_BACK.split(), "back"),
}
_FACE_ONLY = {
    *("obverse", "reverse", "underside", "vorderseite", "vorderansicht", "oberseite", "ruckseite"),
    *("hinteransicht", "unterseite", "recto", "verso", "anverso", "reverso"),
}
_OF_A_SIDE = {"side", "face", "seite", "cote", "lado", "cara"}
_NEUTRAL = _OF_A_SIDE | {
    "view",
    "the",
    "of",
    "from",
    "seen",
    "sheet",
    "cut",
    "layer",
    "ansicht",
    "von",
    "vue",
    "de",
    "vista",
}


def quantity_of(text: str) -> int | None:
    """How many pieces a text asks for; None when it says nothing about it, or two things.

    >>> quantity_of("Shelf x4"), quantity_of("qty: 2"), quantity_of("400x300")
    (4, 2, None)
    """
    said = {
        int(next(filter(None, match.groups()))) for match in _QUANTITY.finditer(_SIZE_BY_SIZE.sub(" ", text))
    }
    return said.pop() if len(said) == 1 and 0 not in said else None


def is_quantity(text: str) -> bool:
    """Whether a text says nothing but a quantity."""
    return quantity_of(text) is not None and not re.search(r"\w", _QUANTITY.sub("", text))


def is_note(label: Label) -> bool:
    """Whether a text is no name: too long, nothing but sizes, or several lines with sizes among them."""
    text = label.text
    sized = _SIZES.search(text) is not None
    only = not any(word not in ("x", "mm", "cm", "in", "inch") for word in words_of(text))
    return len(text) > _LONGEST or (sized and (only or label.lines > 1))


def says_face_only(text: str) -> bool:
    """Whether a text that names a face cannot be the name of a part: "back" can, "back view" cannot."""
    words = words_of(text)
    return len(words) > 1 or bool(_FACE_ONLY & set(words))


def face_of(text: str) -> Face | None:
    """The face of the sheet that a text or a layer's name speaks of; None when it speaks of more or less.

    >>> face_of("FRONT VIEW"), face_of("Rückseite"), face_of("back rest")
    ('front', 'back', None)
    """
    words = words_of(text)
    said = {_FACES[word] for word in words if word in _FACES}
    letters = {"a", "b"} & set(words)
    if len(said) != 1 or (letters and not _OF_A_SIDE & set(words)):
        return None
    return said.pop() if all(word in _FACES or word in _NEUTRAL for word in words) else None
