"""The fonts leaflets are set in: where their files are, and which characters they hold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from unicodedata import category, name, normalize

from aftercare.errors import BadText, OutOfReach


@dataclass(frozen=True, slots=True)
class Family:
    """A font family from a Python package: its folder there, and the faces that are used.

    ``member`` is which font of a collection file is meant; 0 where a file holds one font.
    """

    name: str
    package: str
    folder: str
    faces: tuple[str, ...]
    member: int = 0


def _noto(script: str = "") -> Family:
    return Family(
        f"Noto Sans {script}".rstrip(), "manimgx_fonts", "", (f"NotoSans{script}[wght].ttf",)
    )


# In the order the typesetter tries them. Noto Sans comes first even for Arabic and Urdu: the
# Arabic family has a w and a loose circumflex but no ŵ, and would build Welsh and Polish
# letters itself, with the accent beside them. The Noto fonts for Arabic, Bengali, Khmer, Lao,
# Oriya, Telugu and Thai are left out: they raise parts of letters, and text copied or read
# aloud from the PDF then has those letters twice (krilla issue 411). Bengali is set in Hind
# Siliguri for that reason. The Chinese font comes last: it takes long to read, and Japanese and
# Korean names are in it too.
LATIN = _noto()
CHAIN = (
    LATIN,
    Family(
        "IBM Plex Sans Arabic",
        "fontpkg_ibm_plex_sans_arabic",
        "files",
        ("IBMPlexSansArabic-Regular.ttf", "IBMPlexSansArabic-Bold.ttf"),
    ),
    *map(
        _noto,
        (
            "Armenian",
            "Devanagari",
            "Ethiopic",
            "Georgian",
            "Gujarati",
            "Gurmukhi",
            "Hebrew",
            "Kannada",
            "Malayalam",
            "Myanmar",
            "Sinhala",
            "Tamil",
        ),
    ),
    Family(
        "Hind Siliguri",
        "fontpkg_hind_siliguri",
        "files",
        ("HindSiliguri-Regular.ttf", "HindSiliguri-Bold.ttf"),
    ),
    Family("Noto Sans CJK SC", "manimgx_fonts_cjk", "", ("NotoSansCJK-VF.otf.ttc",), member=2),
)
# Languages whose quotation marks and dashes are as wide as their letters.
_WIDE_MARKS = frozenset({"zh"})

# Never drawn, whatever the font: control, surrogate, private, unassigned, line separators.
_UNPRINTABLE = frozenset({"Cc", "Cs", "Co", "Cn", "Zl", "Zp"})
_BYTE_ORDER_MARK = "\ufeff"  # PDF/UA-1 files may not hold it
_NEEDS_NO_GLYPH = frozenset("\u061c\u2060")  # Arabic letter mark, word joiner


def families(document: object) -> tuple[Family, ...]:
    """The families a leaflet needs, in the order in which a glyph is to be looked for.

    Latin comes first, then the family that draws most of what is not Latin, so that a mark
    several scripts share, such as the danda, is drawn by the font of the words around it.
    ``document`` is data that ``check`` has let through.
    """
    said = normalize("NFC", "\n".join(text for _, text in _texts(document)))
    counted: Counter[Family] = Counter()
    for char, times in Counter(said).items():
        family = _family_of(char)
        if family not in (None, LATIN):
            counted[family] += times
    return (LATIN, *sorted(counted, key=lambda one: (-counted[one], CHAIN.index(one))))


def named(chosen: Iterable[Family], language: str) -> list[str | Mapping[str, str]]:
    """The families as the typesetter is told of them, for a page in this language."""
    names = [family.name for family in chosen]
    if language not in _WIDE_MARKS:
        return list(names)
    # The Latin font keeps its hands off marks that exist in both, such as quotation marks.
    return [{"name": names[0], "covers": "latin-in-cjk"}, *names[1:]]


def folders(chosen: Iterable[Family] = CHAIN) -> tuple[Path, ...]:
    """The folders that hold the fonts; raises OutOfReach when a font file is not there."""
    return tuple(dict.fromkeys(face.parent for family in chosen for face in _faces(family)))


def check(document: object) -> None:
    """Promise that every character of a leaflet's data has a glyph; else raise BadText.

    ``document`` is the parsed data of ``aftercare.render.leaflet``. The error names the
    character and the place it stands, and nothing of the text around it.
    """
    for place, text in _texts(document):
        for char in dict.fromkeys(normalize("NFC", text)):
            if not _has_glyph(char):
                raise BadText(
                    place=place,
                    problem=f"the character {_described(char)} is in none of the print fonts",
                    remedy="write it in other letters, or leave it out",
                )


def _texts(node: object, place: str = "leaflet") -> Iterator[tuple[str, str]]:
    """Every text of the document with its place; a line's runs stand at the line's place."""
    if isinstance(node, str):
        yield place, node
    elif isinstance(node, dict):
        here = node.get("place", place)
        for key, value in node.items():
            if key != "place":
                yield from _texts(value, here)
    elif isinstance(node, list):
        for value in node:
            yield from _texts(value, place)


@cache
def _has_glyph(char: str) -> bool:
    if category(char) in _UNPRINTABLE or char == _BYTE_ORDER_MARK:
        return False
    return char in _NEEDS_NO_GLYPH or _family_of(char) is not None


@cache
def _family_of(char: str) -> Family | None:
    """The first family that draws the letter whole."""
    drawn = zip(CHAIN, _drawn_by(char, CHAIN), strict=False)
    return next((family for family, draws in drawn if draws), None)


def _drawn_by(char: str, chain: tuple[Family, ...]) -> Iterator[bool]:
    """Whether each family draws the letter whole, up to the one that would build it itself.

    A shaper that lacks ŵ takes w and a loose circumflex from the same font, and the accent
    may land beside the letter; no later family is then asked.
    """
    parts = normalize("NFD", char)
    for family in chain:
        held = _characters(family)
        yield char in held
        if char not in held and parts != char and held.issuperset(parts):
            return


@cache
def _characters(family: Family) -> frozenset[str]:
    """What every face of the family can draw."""
    from fontTools.ttLib import TTFont  # slow to import, and SMS and e-mail never need it

    held: list[set[str]] = []
    for face in _faces(family):
        with TTFont(face, lazy=True, fontNumber=family.member) as font:
            held.append({chr(code) for code in font.getBestCmap()})
    return frozenset(set.intersection(*held))


def _faces(family: Family) -> tuple[Path, ...]:
    try:
        folder = files(family.package).joinpath(family.folder)
    except ModuleNotFoundError:
        raise _lacking(family, family.package) from None
    faces = tuple(Path(str(folder.joinpath(face))) for face in family.faces)
    for face in faces:
        if not face.is_file():
            raise _lacking(family, face.name)
    return faces


def _lacking(family: Family, what: str) -> OutOfReach:
    return OutOfReach(
        place=f"font {family.name}",
        problem=f"{what} is not installed",
        remedy="install aftercare again with all it depends on",
    )


def _described(char: str) -> str:
    code = f"U+{ord(char):04X}"
    return f"{code} ({name(char, '')})" if name(char, "") else code
