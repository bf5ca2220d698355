"""How long a text message can get, and which of its lines are dropped for length from whom.

Units add up line by line, so the longest is found exactly. A date is taken as long as any can
be, so a text is never longer than is told here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil

from aftercare.model import VITAL_KINDS, Library, Line, Side
from aftercare.proof.programme import Programme
from aftercare.proof.space import Asked
from aftercare.proof.spoken import Speech, Spoken
from aftercare.render.gsm import count
from aftercare.render.isolate import plain
from aftercare.render.plain_text import make_safe
from aftercare.render.sms import UCS2

# One part alone, and a part of several (3GPP TS 23.040 R18, section 9.2.3.24.1).
_ALONE = {True: 70, False: 160}
_JOINED = {True: 67, False: 153}


@dataclass(frozen=True, slots=True)
class Length:
    """A text's size in both alphabets, and whether it needs the larger one."""

    septets: int
    wide: int
    needs_wide: bool

    @property
    def units(self) -> int:
        """Units in the alphabet it travels in."""
        return self.wide if self.needs_wide else self.septets

    @property
    def parts(self) -> int:
        """Parts it is cut into, when no character would be cut in two."""
        alone, joined = _ALONE[self.needs_wide], _JOINED[self.needs_wide]
        return 1 if self.units <= alone else ceil(self.units / joined)

    def fits(self, library: Library) -> bool:
        """Whether the clinic's limit allows it."""
        limits = library.limits
        return self.parts <= (limits.sms_parts_ucs2 if self.needs_wide else limits.sms_parts)


@dataclass(frozen=True, slots=True)
class Longest:
    """The size of a text, and what is recorded of a patient it is written to."""

    size: Length
    held: frozenset[Asked]


@dataclass(frozen=True, slots=True)
class Texts:
    """All texts in one language.

    ``whole`` is the longest before anything is dropped, ``vital`` the longest of what never is.
    ``droppable`` are the blocks somebody may lose a line of, the least needed last.
    """

    whole: Longest
    vital: Longest
    droppable: tuple[str, ...]


def texts(speech: Speech, programme: Programme, guide: Programme | None = None) -> Texts:
    """Every text of a language, composed as ``render.sms`` does it.

    ``guide`` may be a faster programme that allows more: it says which blocks may be dropped.
    """
    sized = [(one, _length(one.told.line, speech)) for one in speech.lines]
    vital = [(one, size) for one, size in sized if _is_vital(one)]
    spare = [(one, size) for one, size in sized if not _is_vital(one)]
    whole = _longest(programme, speech.library, sized)
    guess = partial(_longest, guide or programme, speech.library)
    # The limit on actions leaves out nothing that is vital, so of that both say the same.
    of_vital = guess(vital)
    if whole.size.fits(speech.library):
        return Texts(whole, of_vital, ())
    spare.sort(key=lambda pair: _need(pair[0]))
    dropped = _droppable(vital, spare, lambda sized: guess(sized).size.fits(speech.library))
    return Texts(whole, of_vital, tuple(dropped))


_Sized = Sequence[tuple[Spoken, Length]]


def _droppable(vital: _Sized, spare: _Sized, fit: Callable[[_Sized], bool]) -> Iterator[str]:
    """Blocks with which somebody's text, cut down to what is needed more, is too long.

    Sums only grow, so the first such block is found by halving.
    """
    names = list(dict.fromkeys(_name(one) for one, _ in spare))
    fits, too_long = 0, len(names)
    while too_long - fits > 1:
        half = (fits + too_long) // 2
        kept = [(one, size) for one, size in spare if _name(one) in names[:half]]
        if fit([*vital, *kept]):
            fits = half
        else:
            too_long = half
    # What is needed less goes before it.
    yield from names[fits:]


def _longest(programme: Programme, library: Library, sized: _Sized) -> Longest:
    """The longest text these lines make for anybody; one over its limit before any that fits."""
    signs = [(programme.line(one), size) for one, size in sized]
    texted = programme.holds("route:sms", Side.LEFT)
    wide = programme.any_of(sign for sign, size in signs if size.needs_wide)
    narrow = programme.most([(sign, size.septets) for sign, size in signs], [texted, ~wide])
    broad = programme.most([(sign, size.wide) for sign, size in signs], [texted, wide])
    found = []
    if narrow:
        found.append(Longest(Length(round(narrow.total) - 1, 0, needs_wide=False), narrow.held))
    if broad:
        found.append(Longest(Length(0, round(broad.total) - 1, needs_wide=True), broad.held))
    nobody_texted = Longest(Length(0, 0, needs_wide=False), frozenset())
    return max(
        found,
        key=lambda one: (not one.size.fits(library), one.size.parts, one.size.units),
        default=nobody_texted,
    )


def _length(line: Line, speech: Speech) -> Length:
    """What a line adds, its line break with it."""
    text = make_safe(plain(line, speech.direction), language=speech.language).text
    counted = count(text)
    wide = len(text.encode("utf-16-be")) // 2
    needs_wide = counted.encoding == UCS2
    return Length(wide + 1 if needs_wide else counted.units + 1, wide + 1, needs_wide)


def _is_vital(one: Spoken) -> bool:
    return one.told.kind is None or one.told.kind in VITAL_KINDS


def _need(one: Spoken) -> tuple[int, str]:
    return (one.telling.block.rank, one.telling.block.id) if one.telling else (0, "")


def _name(one: Spoken) -> str:
    return one.told.line.block_id
