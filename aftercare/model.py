"""The five nouns: Case, Block, Message, Score, Record, and the values they are made of.

Everything here is frozen and comes from the standard library alone, so that every room
may import it. A *fact* is written ``group:value`` (``condition:open-cavity``); which
facts exist is data, in ``shared/facts.toml``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, time
from enum import StrEnum
from types import MappingProxyType

Fact = str


class Channel(StrEnum):
    """How words reach a patient."""

    SMS = "sms"
    EMAIL = "email"
    PRINT = "print"


class Side(StrEnum):
    """Which ear."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class Purpose(StrEnum):
    """Why this run writes: samples are stamped and may hold drafts, patients' copies may not."""

    PATIENT = "patient"
    SAMPLE = "sample"


class Kind(StrEnum):
    """What a block is for. The order of the members is the order on the page."""

    URGENT = "urgent"
    CONTACT = "contact"
    DONE = "done"
    NORMAL = "normal"
    CARE = "care"
    WATER = "water"
    RECALL = "recall"
    OTHERS = "others"


# What tells the reader what to do at home; urgent signs and ways to reach the clinic do not count.
ACTION_KINDS = frozenset({Kind.CARE, Kind.WATER, Kind.RECALL, Kind.OTHERS})
# What may be left out when a leaflet would ask for more than anybody can bear in mind.
SPARE_KINDS = ACTION_KINDS - {Kind.RECALL}
# What may never be dropped to save space (law 2 of the house).
VITAL_KINDS = frozenset({Kind.URGENT, Kind.CONTACT})


class Moment(StrEnum):
    """When a recall message is written. The order of the members is the order they come in."""

    INVITE = "invite"  # a visit will be due: ask the patient to book
    UNBOOKED = "unbooked"  # not booked yet: ask again before it is due
    OVERDUE = "overdue"  # the day has passed and nothing is booked
    BOOKED = "booked"  # a time is set
    BEFORE = "before"  # the time is near
    CHANGED = "changed"  # the clinic has moved it
    CANCELLED = "cancelled"  # the clinic cannot keep it, and has no new time yet
    MISSED = "missed"  # the patient was not seen at the time that was set
    LETTER = "letter"  # nothing was heard: a person writes


class Role(StrEnum):
    """What a run of characters is, so that scoring and bidi can treat it for what it is."""

    WORDS = "words"
    NAME = "name"
    PHONE = "phone"
    ADDRESS = "address"
    LINK = "link"
    DATE = "date"


# The one list of slots content may use, and what each is filled with.
SLOTS: Mapping[str, Role] = MappingProxyType(
    {
        "patient_name": Role.NAME,
        "clinician": Role.NAME,
        "clinic_name": Role.NAME,
        "clinic_short_name": Role.NAME,
        "clinic_phone": Role.PHONE,
        "clinic_text_number": Role.PHONE,
        "clinic_email": Role.LINK,
        "clinic_hours": Role.WORDS,
        "emergency_number": Role.PHONE,
        "emergency_text_number": Role.PHONE,
        "urgent_advice_number": Role.PHONE,
        "urgent_advice_relay": Role.PHONE,
        "visit_date": Role.DATE,
        "recall_date": Role.DATE,
        "removed_cm": Role.WORDS,
        "removed_inches": Role.WORDS,
        "first_name": Role.NAME,
        "due_date": Role.DATE,
        "answer_by_date": Role.DATE,
        "appointment_date": Role.DATE,
        "appointment_time": Role.DATE,
        "former_date": Role.DATE,
        "former_time": Role.DATE,
        "visit_minutes": Role.WORDS,
    }
)
# Slots that hold a whole number in plain digits, and change the words around them.
COUNTS = frozenset({"visit_minutes"})


# --- Case -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Ear:
    """One ear seen at the visit: its own facts, a length noted there in millimetres, and the
    last day of its drops if somebody set one.
    """

    side: Side
    facts: frozenset[Fact]
    removed_mm: int | None = None
    drops_stop: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """Whoever the words are for. ``agreed`` holds the channels they consented to.

    ``ref`` is the clinic's reference of the patient, which the recall register goes by.
    """

    name: str
    language: str
    facts: frozenset[Fact] = frozenset()
    mobile: str | None = None
    email: str | None = None
    address: tuple[str, ...] = ()
    agreed: frozenset[Channel] = frozenset(Channel)
    ref: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """The recall the clinician agreed with the patient, counted from the visit.

    ``confirmed`` is the clinician's reason for a figure outside what is allowed.
    """

    months: int = 0
    weeks: int = 0
    confirmed: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A clinician's decision to let a message go against one named rule, and the reason."""

    rule: str
    by: str
    role: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """The facts of one visit. ``recall_declined`` says why no recall was agreed."""

    ref: str
    patient: Patient
    visit_date: date
    clinician: str
    ears: tuple[Ear, ...]
    recall: Interval | None = None
    recall_declined: str | None = None
    overrides: tuple[Override, ...] = ()

    @property
    def treated(self) -> Side:
        """The side that was treated: one ear's own, or both."""
        return self.ears[0].side if len(self.ears) == 1 else Side.BOTH


# --- Block ------------------------------------------------------------------------------


class ApprovalState(StrEnum):
    """Whether a clinician stands behind a block."""

    DRAFT = "draft"
    APPROVED = "approved"
    RETIRED = "retired"


@dataclass(frozen=True, slots=True)
class Approval:
    """Who approved, and when; a draft has neither.

    ``sealed`` says that the approval is tied to the very words, so that an edit undoes it.
    ``undone`` says that an edit has done so: what was approved is a draft again.
    """

    state: ApprovalState
    by: str | None = None
    on: date | None = None
    sealed: bool = False
    undone: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """A run of a phrase: literal text, or the name of a slot when ``slot`` is set."""

    text: str
    slot: bool = False
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Phrase:
    """One whole sentence or short paragraph as an editor wrote it, already parsed.

    ``msgid`` is what translators see; ``pieces`` is what is filled and printed. ``others`` are
    the same sentence for other numbers, in the order of the language's plural forms.
    """

    msgid: str
    pieces: tuple[Piece, ...]
    others: tuple[Phrase, ...] = ()

    @property
    def slots(self) -> tuple[str, ...]:
        """The slots in order, repeats kept; those of one form where there are several."""
        return tuple(piece.text for piece in self.pieces if piece.slot)

    @property
    def forms(self) -> tuple[Phrase, ...]:
        """The sentence as it is said of each kind of number; itself alone where none is told."""
        return (self, *self.others)

    @property
    def source(self) -> str:
        """What its translation is found by: its words, and after a NUL those for other numbers.

        GNU gettext keeps them so ("The Format of GNU MO Files").
        """
        return "\0".join(form.msgid for form in self.forms) if self.others else self.msgid

    @property
    def every_slot(self) -> tuple[str, ...]:
        """The slots of all forms, each once."""
        return tuple(dict.fromkeys(slot for form in self.forms for slot in form.slots))


@dataclass(frozen=True, slots=True)
class Variant:
    """The words to use when every fact in ``when`` holds, and the line they stand on."""

    when: frozenset[Fact]
    phrase: Phrase
    line: int


@dataclass(frozen=True, slots=True)
class Unit:
    """One paragraph or list item, written out whole for each value it depends on."""

    variants: tuple[Variant, ...]


class Shape(StrEnum):
    """How units of a part are set on the page."""

    PARAGRAPHS = "paragraphs"
    BULLETS = "bullets"
    STEPS = "steps"


@dataclass(frozen=True, slots=True)
class Part:
    """Units of one shape, in order."""

    shape: Shape
    units: tuple[Unit, ...]


@dataclass(frozen=True, slots=True)
class AcceptedAdvice:
    """An editor's decision to keep words that advice would change, and the reason."""

    kind: str
    words: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One piece of content and its reason to exist.

    ``given_for``: for every group named, at least one of its facts must hold.
    ``withheld_from``: if any of these facts holds, the block is left out.
    ``sms`` is safe on a lock screen; ``sms_detail`` is for patients who asked for detail.
    A lower ``rank`` comes earlier on the page and is dropped later from an SMS, and from a
    leaflet that would ask for too much. ``actions`` is how many things it asks of the reader.
    A block with ``moments`` is told in recall messages alone, at these moments and on these
    ``channels``; ``subject`` is the subject of such an e-mail.
    """

    id: str
    version: str
    kind: Kind
    given_for: tuple[Fact, ...]
    withheld_from: tuple[Fact, ...]
    rank: int
    parts: tuple[Part, ...]
    sms: Unit | None
    sms_detail: Unit | None
    sources: tuple[str, ...]
    author: str
    approval: Approval
    review_by: date
    place: str
    actions: int = 0
    accepted: tuple[AcceptedAdvice, ...] = ()
    moments: tuple[Moment, ...] = ()
    channels: tuple[Channel, ...] = ()
    subject: Unit | None = None

    def units(self) -> Iterator[Unit]:
        """Every unit of the block: the body's in order, then the short forms and the subject."""
        for part in self.parts:
            yield from part.units
        short = (self.sms, self.sms_detail, self.subject)
        yield from (unit for unit in short if unit is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The furniture around the blocks: headings, salutation, subject, stamp; key -> words."""

    texts: Mapping[str, Phrase]
    version: str
    approval: Approval
    review_by: date
    place: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """A block, the ears it speaks of, and the facts that called for it (never none)."""

    block: Block
    side: Side
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Omitted:
    """A block left out, and why; ``called_for`` when only the limit on actions left it out."""

    block_id: str
    because: str
    called_for: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """What CHOOSE answers: every block of the library is in one of the two lists."""

    chosen: tuple[Chosen, ...]
    omitted: tuple[Omitted, ...]


# --- Message ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Span:
    """A run of finished words with one role."""

    text: str
    role: Role = Role.WORDS
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A finished paragraph, list item or heading, and the block it came from.

    ``approved`` says whether a reviewer stands behind the translation; words in the source
    language are approved with their block. ``reviewer`` is who, for a translation. ``language``
    is None for a line in the language of its message.
    """

    spans: tuple[Span, ...]
    block_id: str
    approved: bool
    reviewer: str | None = None
    language: str | None = None

    @property
    def text(self) -> str:
        """The words as a patient reads them."""
        return "".join(span.text for span in self.spans)


@dataclass(frozen=True, slots=True)
class Passage:
    """Lines of one shape, in order."""

    shape: Shape
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """Everything of one kind, under one heading."""

    kind: Kind
    heading: Line
    passages: tuple[Passage, ...]

    def lines(self) -> Iterator[Line]:
        """The section's lines without its heading."""
        for passage in self.passages:
            yield from passage.lines


@dataclass(frozen=True, slots=True)
class Help:
    """The one line of a message that is not in its language: how to get help in the reader's own.

    ``direction`` is the line's.
    """

    line: Line
    direction: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Worded:
    """What WORD answers: one visit's words in one language, before any channel's layout.

    ``frame`` holds the furniture by key: title, salutation, stamp, subject and the like.
    ``short`` holds the SMS short form of each chosen block that has one, in page order.
    ``missing`` names the contexts with words this language has no translation for; their
    lines hold the source words, so a Worded with any is never released (law 6). ``help`` is
    there only where the reader has another language than the words.
    """

    language: str
    direction: str
    frame: Mapping[str, Line]
    sections: tuple[Section, ...]
    short: tuple[tuple[Chosen, Line], ...]
    missing: tuple[str, ...] = ()
    help: Help | None = None

    def lines(self) -> Iterator[Line]:
        """Every sentence-bearing line of the page in reading order, headings left out."""
        for section in self.sections:
            yield from section.lines()


class Status(StrEnum):
    """Whether a message may leave."""

    RELEASED = "released"
    WITHHELD = "withheld"


@dataclass(frozen=True, slots=True, kw_only=True)
class SmsCount:
    """How a text travels: units are septets in GSM-7 and 16-bit units in UCS-2."""

    encoding: str
    units: int
    parts: int
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """One channel's finished words. ``body`` is the bytes of the file; None when withheld.

    ``findings`` are worth a look and stop nothing. ``noted`` is kept on record: overrides, and
    advice that opposed advice. ``dropped`` names blocks left out of an SMS for length;
    ``would_withhold`` is why a sample could not have gone to a patient. ``instead_of`` is the
    language the patient reads, where ``language`` is another.
    """

    channel: Channel
    language: str
    lines: tuple[Line, ...]
    chosen: tuple[Chosen, ...]
    score: Score
    status: Status
    withheld_because: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    noted: tuple[str, ...] = ()
    body: bytes | None = None
    sms: SmsCount | None = None
    pages: int | None = None
    dropped: tuple[str, ...] = ()
    would_withhold: tuple[str, ...] = ()
    instead_of: str | None = None


# --- Score ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What was counted; counts of parts add up to the counts of the whole.

    ``polysyllables`` are words of three syllables or more (McLaughlin 1969), ``long_words``
    have more than six letters (Björnsson 1968), ``strokes`` are letters and digits,
    ``stems`` are sentences that only introduce a list. What aftercare cannot count in a
    language is None. ``longest_sentence``, in words, is the one field whose sum is a maximum.
    """

    words: int = 0
    sentences: int = 0
    syllables: int | None = 0
    polysyllables: int | None = 0
    longest_sentence: int = 0
    monosyllables: int | None = 0
    four_syllables: int | None = 0  # words of four syllables or more
    letters: int = 0
    strokes: int = 0
    long_words: int = 0
    complex_words: int | None = 0  # Gunning 1952: hard words less his exclusions
    unfamiliar_1948: int | None = 0  # words outside the Dale list by the 1948 rules
    unfamiliar_1995: int | None = 0  # the same by the 1995 rules
    stems: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """What the words cost the reader. A formula that does not apply is None, never a guess.

    ``own`` are the values of the formulas made for a language other than English, by name.
    """

    counts: Counts
    flesch: float | None = None
    fkgl: float | None = None
    smog: float | None = None
    own: tuple[tuple[str, float], ...] = ()


# --- Record -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One thing that was decided, shown or written. Only ever added to.

    ``digest`` is the SHA-256 of the bytes that were written, or None when none were;
    ``noted`` says who let it go against which rule and why, and where advice opposed advice.
    """

    at: str
    case: str
    library: str
    channel: Channel
    language: str
    status: Status
    because: tuple[str, ...]
    digest: str | None
    noted: tuple[str, ...] = ()


# --- Library ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class FactGroup:
    """One question of the vocabulary and its allowed answers, value -> plain label.

    ``scope`` is ``ear`` when each ear has its own answer, else ``patient``.
    ``derived`` groups are worked out, never given; of an ``exclusive`` group exactly one
    value holds; ``opposites`` are sets of values that cannot hold together. ``told`` are the
    kinds of content that whoever has one of its values must be given.
    """

    name: str
    scope: str
    values: Mapping[str, str]
    derived: bool = False
    exclusive: bool = False
    opposites: tuple[frozenset[str], ...] = ()
    told: frozenset[Kind] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Impossible:
    """Facts of one ear and its patient that cannot hold together, unless one of ``unless`` does.

    ``because`` is told to the clinician with ``instead``, what to record in its place.
    """

    together: frozenset[Fact]
    unless: frozenset[Fact]
    because: str
    instead: str

    def holds(self, facts: frozenset[Fact]) -> bool:
        """Whether these facts are the combination that cannot be."""
        return self.together <= facts and not self.unless & facts


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """Emergency numbers of a region and the day somebody last checked them.

    A number a region does not have is None; content that needs it is then left out.
    """

    code: str
    emergency_number: str
    emergency_text_number: str | None
    urgent_advice_number: str | None
    urgent_advice_relay: str | None
    checked: date
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clinic:
    """The clinic as patients meet it. ``open_days`` are weekday numbers, Monday 0.

    Its ``hours`` are in its own words, which are translated, or when it opens and closes on them.
    """

    name: str
    short_name: str
    region: str
    territory: str
    timezone: str
    phone: str
    text_number: str | None
    email: str
    sender: str
    hours: str | tuple[time, time]
    open_days: frozenset[int]
    closed_dates: frozenset[date]
    inches: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a message may cost its reader, from ``shared/limits.toml``.

    A sentence may have ``sentence_words``, or ``sentence_characters`` where no blanks part words.
    ``formulas`` holds the limit of each formula a clinic holds its texts to, by name; whether
    it is the most or the least is the formula's own scale. ``actions`` is the most a leaflet
    may ask of its reader; ``words_before_action`` to ``list_items`` are where advice to editors
    begins. ``recall_months`` is what clinics agree for a condition, and what they may; from
    ``adult_age``, in years, the patient is written to, and below it a parent or carer.
    """

    fkgl: float
    formulas: Mapping[str, float]
    actions: int
    words_before_action: int
    paragraph_sentences: int
    list_items: int
    sentence_words: int
    sentence_characters: int
    sms_parts: int
    sms_parts_ucs2: int
    print_pages: int
    print_pages_large: int
    print_point: float
    large_print_point: float
    lock_screen: Mapping[str, frozenset[str]]
    recheck_days: int
    review_months: int
    recall_months: Mapping[Fact, RecallMonths]
    adult_age: int


@dataclass(frozen=True, slots=True)
class RecallMonths:
    """Months to the next visit for one condition: what is usual, and what is allowed.

    A figure outside ``allowed`` is asked twice; no figure is ever filled in.
    """

    usual: tuple[int, int]
    allowed: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Saying:
    """How one thing is said in one language: any of ``said`` in a sentence without ``unless``.

    Patterns are written as ``shared/rules.toml`` explains.
    """

    said: tuple[str, ...]
    unless: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Opposing:
    """Two things that cannot both be said of one ear; the stricter wins."""

    stricter: str
    looser: str


@dataclass(frozen=True, slots=True, eq=False)
class RuleBook:
    """The words the contradiction rules look for: language -> thing said -> how it is said."""

    words: Mapping[str, Mapping[str, Saying]]
    opposing: tuple[Opposing, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Translation:
    """A phrase in another language, and the reviewer who approved these very words, if any."""

    phrase: Phrase
    approved_by: str | None

    @property
    def approved(self) -> bool:
        """Whether somebody stands behind it."""
        return self.approved_by is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """One language: (context, source) -> Translation. The source language has no entries.

    ``plural`` is the rule of its plural forms, an expression in ``n`` as gettext writes it.
    """

    language: str
    direction: str
    phrases: Mapping[tuple[str, str], Translation]
    plural: str = "0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """Everything a clinic owns, read once and frozen. ``fingerprint`` is its edition.

    ``blocks`` are for leaflets of a visit, ``reminders`` for recall messages; no message takes
    from both.
    """

    fingerprint: str
    facts: Mapping[str, FactGroup]
    impossible: tuple[Impossible, ...]
    blocks: tuple[Block, ...]
    frame: Frame
    clinic: Clinic
    region: Region
    limits: Limits
    catalogues: Mapping[str, Catalogue]
    glossary: Mapping[str, str]
    plain_words: Mapping[str, str]
    rules: RuleBook
    source_language: str = "en"
    reminders: tuple[Block, ...] = ()

    @property
    def shelf(self) -> tuple[Block, ...]:
        """Every block there is, those of visits first."""
        return (*self.blocks, *self.reminders)
