"""What a layer's name says in the trade's words: an operation, a depth, or lines that are not cut at all."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

__all__ = ["LayerName", "Operation", "is_construction", "read_layer_name", "words_of"]

Operation = Literal["profile", "opening", "hole", "countersink", "pocket", "engraving", "sheet edge", ""]


def _set(text: str) -> frozenset[str]:
    return frozenset(text.split())


# Words of the trade in English, German, French and Spanish, without accents (common practice, no source).
_OPERATIONS: dict[Operation, str] = {
    "profile": """outline outlines outside outer exterior profile profiles contour contours perimeter
        umriss umrisse aussen aussenkontur aussenkonturen kontur konturen
        exterieur contorno contornos perfil perfiles""",
    "opening": """inside inner interior opening openings window windows cutout cutouts mortise mortises
        innen innenkontur innenkonturen ausschnitt ausschnitte durchbruch durchbruche
        interieur ouverture ouvertures mortaise mortaises hueco huecos abertura aberturas""",
    "hole": """hole holes drill drills drilled drilling bore bores boring dowels
        bohren bohrung bohrungen bohrloch bohrlocher loch locher
        percage percages trou trous percer taladro taladros agujero agujeros taladrar""",
    "countersink": """countersink countersinks countersunk countersinking csk
        senkung senkungen ansenkung ansenkungen senken ansenken
        fraisurage fraisurages avellanado avellanados avellanar""",
    "pocket": """pocket pockets pocketing recess recesses housing housings dado dados rabbet rabbets rebate
        rebates groove grooves tasche taschen nut nuten vertiefung vertiefungen falz
        poche poches rainure rainures evidement evidements feuillure
        cajera cajeras cajeado cajeados ranura ranuras rebaje rebajes bolsillo bolsillos""",
    "engraving": """engrave engraved engraving engravings etch etching mark marks marking score scoring scribe
        gravieren gravur gravuren markierung markierungen ritzen anreissen
        gravure gravures graver marquage marquages grabado grabados grabar marcado marcar""",
    "sheet edge": """sheet stock border plattenrand rohplatte panneau tablero""",
}
_OPERATION_OF = {word: operation for operation, text in _OPERATIONS.items() for word in text.split()}
# The more telling word decides: "inside pocket" is a pocket, "pocket outline" still is one.
_ORDER: tuple[Operation, ...] = (
    "pocket",
    "engraving",
    "countersink",
    "hole",
    "opening",
    "profile",
    "sheet edge",
)

_WITHOUT_DEPTH: tuple[Operation, ...] = ("countersink", "profile", "opening", "sheet edge")

# A layer is one of construction only when all its words say so; "guide" alone could be a drawer's guide.
_CONSTRUCTION = _set(
    """construction constructions constr centerline centerlines centreline centrelines guideline guidelines
    dim dims dimension dimensions dimensioning annotation annotations hatch hatching defpoints titleblock
    hilfslinie hilfslinien hilfsgeometrie hilfskonstruktion konstruktion konstruktionslinie
    konstruktionslinien mittellinie mittellinien masse bemassung bemassungen masslinie masslinien schraffur
    schriftfeld cotes cotation cotations hachures cartouche cotas acotacion acotaciones rayado cajetin
    construccion"""
)
_CONSTRUCTION_PAIRS = frozenset(
    {
        *(("center", "line"), ("center", "lines"), ("centre", "line"), ("centre", "lines")),
        *(("guide", "line"), ("guide", "lines"), ("title", "block"), ("dim", "line"), ("dim", "lines")),
        *(("ligne", "construction"), ("lignes", "construction"), ("linea", "auxiliar")),
        *(("lineas", "auxiliares"), ("linea", "construccion"), ("lineas", "construccion")),
    }
)
_NEUTRAL = _set("layer layers line lines geometry and ebene linie linien de ligne lignes linea")

# Numbers beside such words are sizes of cutters or sheets, not depths.
_OTHER_SIZES = _set(
    """cutter cutters bit bits tool tools endmill router dia diameter diam dm thick thickness ply plywood
    birch mdf board material stock sheet fraser werkzeug durchmesser dicke sperrholz platte fraise outil
    diametre epaisseur contreplaque fresa herramienta diametro espesor contrachapado"""
)
# A whole number that begins with 0 counts things: 007.
_NUMBER = r"(?<![\d.,/])((?!0\d)\d+(?:[.,]\d+)?|[.,]\d+)(?![\d/])"
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4}
_UNIT = r"(mm|cm|inches|inch|in|\")(?![a-z])"
_FRACTION = re.compile(rf"(?<![\d.,/])(\d+)/(\d+)(?=[ _]*{_UNIT})")
# A dot is not allowed in the names of old DXF files, and is written as "_" or "p" there: 6_35mm, 6p35mm.
_SPELLED_DOT = re.compile(rf"(?<![\d.,])(\d+)[_p](\d+)(?=[ _]*{_UNIT})")
_DEEP = r"(?<![a-z])(?:(?:deep|depth|tiefe|tief|profondeur|prof|profundidad)[ _.=:]*|z[ _=:]*|t *[=:] *)-?"
_MARKED = (
    re.compile(rf"{_DEEP}{_NUMBER}(?:[ _]*{_UNIT})?"),
    re.compile(rf"{_NUMBER}(?:[ _]*{_UNIT})?[ _-]*(?:deep|tief)(?![a-z])"),
)
_WITH_UNIT = re.compile(rf"{_NUMBER}[ _]*{_UNIT}")
_BELOW_ZERO = re.compile(rf"(?:^|[ _=])-[ ]?{_NUMBER}()[ _]*$")
_BEHIND = re.compile(rf"([a-z]*)(?:[ _.:-]+|^){_NUMBER}(?![a-z])")
_DIGITS = re.compile(r"\d[\d.,]*")
_DEEPEST = 60.0
# Programs that cut names off do it here: 26 was met in published drawings, 31 is the limit of DXF R12.
_CUT_AT = (26, 31)


@dataclass(frozen=True, slots=True)
class LayerName:
    """What a name says: `depth` in mm as read from `number`; `cut_off` when the name may lack its end."""

    operation: Operation
    depth: float | None = None
    number: str = ""
    cut_off: bool = False


def words_of(name: str) -> list[str]:
    """The words of a name in small letters, accents taken off; case, digits and signs part them.

    >>> words_of("BohrLöcher_8mm außen")
    ['bohr', 'locher', 'mm', 'aussen']
    """
    parted = re.sub(r"(?<=[a-zà-ÿß])(?=[A-ZÀ-Þ])", " ", name)
    return re.findall(r"[a-z]+", _plain(parted))


def _plain(name: str) -> str:
    apart = unicodedata.normalize("NFKD", name.casefold())
    return "".join(sign for sign in apart if not unicodedata.combining(sign))


def read_layer_name(name: str, unit_mm: float = 1.0) -> LayerName:
    """The operation and the depth that a layer's name speaks of; empty and None where it speaks of none.

    A number without a unit counts in the drawing's unit, `unit_mm` long. It is taken for a depth beside a
    word for depth, below zero, behind a word for a pocket or a hole, or with a unit where no word says that
    it is the size of a cutter or sheet. Several numbers that could be meant are none.
    """
    cut_off = len(name) in _CUT_AT
    words = {*words_of(name), *re.findall(r"[a-z]+", _plain(name))}
    if cut_off:
        words |= _completed(name)
    said = {_OPERATION_OF[word] for word in words if word in _OPERATION_OF}
    operation: Operation = next((one for one in _ORDER if one in said), "")
    found = _depths(_plain(name), operation, words, unit_mm)
    depths = {depth for depth, _ in found if 0 < depth <= _DEEPEST}
    if len(depths) != 1 or operation in _WITHOUT_DEPTH:
        return LayerName(operation, cut_off=cut_off)
    depth = depths.pop()
    number = next(text for value, text in found if value == depth)
    return LayerName(operation, depth, number.strip(" _"), cut_off)


def _completed(name: str) -> set[str]:
    """What the last word of a name that was cut off may have been."""
    last = (words_of(name) or [""])[-1]
    if len(last) < 4 or not name[-1:].isalpha():
        return set()
    whole = [word for word in _OPERATION_OF if word.startswith(last)]
    return {whole[0]} if len({_OPERATION_OF[word] for word in whole}) == 1 else set()


def _depths(name: str, operation: Operation, words: set[str], unit_mm: float) -> list[tuple[float, str]]:
    """Depths in mm with the text that they were read from, by the first way of writing that fits."""
    name = _SPELLED_DOT.sub(r"\1.\2", name)
    name = _FRACTION.sub(lambda m: f"{int(m[1]) / max(1, int(m[2])):.6g}", name)
    found = [match for way in _MARKED for match in way.finditer(name)]
    if not found and not words & _OTHER_SIZES:
        found = list(_WITH_UNIT.finditer(name)) or list(_BELOW_ZERO.finditer(name))
        if not found and operation in ("pocket", "hole", "engraving") and len(_DIGITS.findall(name)) == 1:
            behind = [match for match in _BEHIND.finditer(name) if match[1] in _OPERATION_OF]
            return [(round(_value(match[2]) * unit_mm, 4), match[2]) for match in behind]
    return [(round(_value(m[1]) * (_UNITS[m[2]] if m[2] else unit_mm), 4), m[0]) for m in found]


def _value(number: str) -> float:
    return float(number.replace(",", "."))


def is_construction(name: str) -> bool:
    """Whether a layer's name says that nothing on it is cut: construction, dimensions, centre lines.

    Every word must say so, or be one like "layer" and "lines" that says nothing: "drawer guide" is a part.
    """
    words = words_of(name)
    pairs = {(a, b) for a, b in pairwise(words) if (a, b) in _CONSTRUCTION_PAIRS}
    paired = {word for pair in pairs for word in pair}
    telling = [word for word in words if word not in _NEUTRAL or word in paired]
    return bool(telling) and all(word in _CONSTRUCTION or word in paired for word in telling)
