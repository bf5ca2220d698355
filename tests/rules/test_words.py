"""Rules that look for words: each is seen to catch made-up words, and to let near misses go."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from made_up import HOME

from aftercare.model import Case, Kind, Side

CAVITY, HOLE = ("condition:open-cavity",), ("condition:perforation",)
GROMMET, OTITIS = ("condition:grommet",), ("condition:otitis-externa",)
DROPS = ("drops:prescribed",)
NO_THREE_DAYS = "Ear pain or fluid no better in three days (72 hours)? Contact us the same day."


@dataclass(frozen=True)
class Claim:
    """What a rule must say of words by language, on these facts."""

    rule: str
    caught: dict[str, tuple[str, ...]]
    let_go: dict[str, tuple[str, ...]]
    left: tuple[str, ...] = ()
    patient: tuple[str, ...] = ("age:adult",)
    side: Side = Side.LEFT
    kind: Kind = Kind.CARE


CLAIMS = (
    Claim(
        "self-bought drops", left=HOLE,  # row 1
        caught={
            "en": (
                "Put two drops of olive oil in the left ear.", "You can use bicarbonate drops.",
                "Peroxide helps.", "Get drops from a pharmacy.", "Use sodium BICARBONATE.",
            ),
            "pl": ("Proszę wkroplić oliwę do lewego ucha.", "Pomaga woda utleniona."),
            "ur": ("بائیں کان میں زیتون کا تیل ڈالیں۔",),
        },
        let_go={
            "en": (
                "Do not put olive oil in the ear.", "Use only drops prescribed for it.",
                "Ask us before you put any drops in an ear to soften wax.",
                "Rub petroleum jelly into cotton wool.",
            ),
            "pl": ("Nie wolno wkraplać oliwy.", "Jama pooperacyjna nie oczyszcza się sama."),
            "ur": ("کان میں زیتون کا تیل نہ ڈالیں۔",),
        },
    ),
    Claim(
        "self-bought drops", left=("finding:drum-not-seen",),
        caught={"en": ("Use olive oil.",)}, let_go={"en": ("Boil water.",)},
    ),
    Claim(
        "self-bought drops", left=("condition:wax",),
        caught={}, let_go={"en": ("Use olive oil in the left ear.",)},
    ),
    Claim(
        "aminoglycoside drops", left=GROMMET,  # row 2
        caught={
            "en": ("Use the gentamicin drops.", "Neomycin, twice a day."),
            "pl": ("Krople z gentamycyną dwa razy dziennie.",),
            "ur": ("جینٹامائسن کے قطرے ڈالیں۔",),
        },
        let_go={
            "en": ("Use the ciprofloxacin drops.", "Do not use gentamicin drops in this ear."),
            "pl": ("Nie wolno stosować gentamycyny.",),
            "ur": ("سپروفلوکساسن کے قطرے ڈالیں۔",),
        },
    ),
    Claim(
        "drops and keep dry", left=DROPS,  # row 3
        caught={
            "en": ("Keep the left ear dry.", "Put nothing in the ear.", "Keep water out of it."),
            "pl": ("Lewe ucho ma pozostać suche.", "Do ucha niczego nie wkładać."),
            "ur": ("بائیں کان کو خشک رکھیں۔",),
        },
        let_go={
            "en": (
                "Keep the left ear dry. Use the drops in it as the label says.",
                "Put nothing in the ear except the drops.", "Keep calm.",
            ),
            "pl": ("Lewe ucho ma pozostać suche. Proszę wkraplać krople zgodnie z etykietą.",),
            "ur": ("کان کو خشک رکھیں۔ قطرے لیبل کے مطابق ڈالیں۔",),
        },
    ),
    Claim(
        "swim ban with a grommet", left=GROMMET,  # row 4
        caught={
            "en": ("No swimming.", "Do not swim for six weeks.", "Never swim with a grommet."),
            "pl": ("Nie wolno pływać.",),
            "ur": ("تیراکی منع ہے۔",),
        },
        let_go={
            "en": ("The left ear may get wet when swimming.", "Never swim alone."),
            "pl": ("Nie wolno pływać w pojedynkę.",),
            "ur": ("کبھی اکیلے تیراکی نہ کریں۔",),
        },
    ),
    *(
        Claim(
            "swim ban with a grommet", left=(*GROMMET, *ear), patient=("age:adult", *patient),
            caught={}, let_go={"en": ("No swimming.",)},
        )
        for ear, patient in (
            (("finding:discharge",), ()), (HOLE, ()), ((), ("caution:weak-immunity",)),
        )
    ),
    Claim(
        "wax advice for a cavity", left=CAVITY,  # row 5
        caught={
            "en": (
                "A nurse can wash out the left ear.", "Syringing is fine.", "You can swim freely.",
                "Soften the wax first.", "The ear cleans itself.", "Irrigation helps.",
                "The left ear may get wet when washing or swimming.",
            ),
            "pl": ("Lewe ucho można płukać wodą.", "Ucho oczyszcza się samo."),
            "ur": ("پانی ڈال کر بایاں کان صاف کریں۔",),
        },
        let_go={
            "en": (
                "Do not let anyone wash out the left ear with water.", "Ask us before you swim.",
                "It cannot clear itself well.", "Use it for hair washing only, not for swimming.",
            ),
            "pl": ("Proszę nie pozwalać nikomu na płukanie lewego ucha wodą.",),
            "ur": ("کسی کو پانی ڈال کر بایاں کان صاف نہ کرنے دیں۔",),
        },
    ),
    *(
        Claim(
            "nut oil", patient=("age:adult", f"allergy:{allergy}"),  # row 6
            caught={
                "en": ("Use almond oil.", "Arachis oil softens wax.", "It holds soya."),
                "pl": ("Olej migdałowy.", "Olejek z orzechów ziemnych.", "Zawiera soję."),
                "ur": ("بادام کا تیل ڈالیں۔",),
            },
            let_go={
                "en": ("Use olive oil.", "Do not use almond oil.", "Ask us so you know."),
                "pl": ("Nie wolno stosować oleju migdałowego.",),
                "ur": ("بادام کا تیل نہ ڈالیں۔",),
            },
        )
        for allergy in ("nut", "peanut", "soya")
    ),
    Claim("nut oil", caught={}, let_go={"en": ("Use almond oil.",)}),
    Claim(
        "allergy to the drops", patient=("age:adult", "allergy:quinolone"),  # row 7
        caught={
            "en": ("Use the ciprofloxacin drops.",), "pl": ("Krople z cyprofloksacyną.",),
            "ur": ("سپروفلوکساسن کے قطرے ڈالیں۔",),
        },
        let_go={"en": ("Use the gentamicin drops.", "Avoid ciprofloxacin.")},
    ),
    *(
        Claim(
            "72-hour rule", left=ear, patient=("age:adult", f"caution:{caution}"),  # row 8
            caught={
                "en": ("Use the drops.", "No better in three days? Wait a week."),
                "pl": ("Proszę stosować krople.",), "ur": ("قطرے ڈالیں۔",),
            },
            let_go={
                "en": (NO_THREE_DAYS, "No better 3 days after the visit? Contact us that day."),
                "pl": ("Nie ma poprawy 3 dni po wizycie? Proszę o kontakt tego dnia.",),
                "ur": ("درد میں تین دن میں بہتری نہ آئے تو اسی دن ہم سے رابطہ کریں۔",),
            },
        )
        for caution in ("diabetes", "weak-immunity", "radiotherapy")
        for ear in (OTITIS, ("finding:discharge",))
    ),
    Claim(
        "72-hour rule", patient=("age:adult", "caution:diabetes"),
        caught={"en": ("The skin is infected.",)}, let_go={"en": ("The left ear is now clear.",)},
    ),
    Claim(
        "blood thinner", patient=("age:adult", "caution:blood-thinner"),  # row 9
        caught={
            "en": (
                "Aspirin helps. Bleeding is rare.", "Take ibuprofen if it bleeds.",
                "Stop your blood thinner if the ear bleeds.", "The left ear is now clear.",
            ),
            "pl": ("Proszę wziąć ibuprofen. Krwawienie jest rzadkie.", "Lewe ucho jest czyste.",
                   "Proszę odstawić lek. Krwawienie minie."),
            "ur": ("آئبوپروفین لیں۔ خون بہنا کم ہوگا۔", "بایاں کان صاف ہے۔"),
        },
        let_go={
            "en": (
                "Keep taking your blood thinner. Spots of blood may go on longer.",
                "Do not take aspirin. If it bleeds, call us.",
                "Do not stop taking it, even if the ear bleeds.",
            ),
            "pl": ("Lek proszę nadal przyjmować. Plamki krwi mogą pojawiać się dłużej.",),
            "ur": ("دوا جاری رکھیں۔ خون کے دھبے زیادہ دیر تک آ سکتے ہیں۔",),
        },
    ),
    Claim(
        "bone medicine", patient=("age:adult", "caution:bone-medicine"),  # row 10
        caught={
            "en": ("Very bad pain.", "New fluid from an ear."), "pl": ("Bardzo silny ból.",),
            "ur": ("بہت شدید درد ہو۔",),
        },
        let_go={
            "en": ("Tell us of ear pain or fluid.",), "pl": ("Ból ucha lub wyciek płynu.",),
            "ur": ("کان میں درد یا رطوبت ہو۔",),
        },
    ),
    Claim(
        "only-hearing ear", patient=("age:adult", "caution:only-hearing-ear"),  # row 11
        caught={
            "en": (
                "A nurse can wash out the left ear.", "Dull hearing can last two days.",
                "Contact us within three days for dull hearing.",
            ),
            "pl": ("Ucho można płukać.", "Przytłumiony słuch może trwać dwa dni."),
            "ur": ("دبا دبا سنائی دینا دو دن تک رہ سکتا ہے۔",),
        },
        let_go={
            "en": (
                "Contact us the same day for any loss of hearing.",
                "Do not let anyone wash out an ear.", "Ringing can last two days.",
            ),
            "pl": ("Utrata słuchu? Proszę o kontakt tego samego dnia.",),
            "ur": ("کم سنائی دے تو اسی دن ہم سے رابطہ کریں۔",),
        },
    ),
    Claim(
        "adult words for a child", patient=("age:child",),  # row 14
        caught={
            "en": (
                "Keep your left ear dry.", "Take two tablets.", "Give aspirin for pain.",
                "Within 30 days of the loss.", "If you feel dizzy, sit down.",
            ),
            "pl": ("Twoje ucho jest czyste.", "Proszę podać aspirynę.", "Dawka dla dorosłych."),
            "ur": ("آپ کا کان صاف ہے۔", "اسپرین دیں۔"),
        },
        let_go={
            "en": (
                "Ask us before your child swims.", "Do not give aspirin to your child.",
                NO_THREE_DAYS, "Warm the bottle in your hand first.",
            ),
            "pl": ("Dziecko jest wiotkie.",), "ur": ("آپ کے بچے کو چکر آئے تھے۔",),
        },
    ),
    Claim(
        "adult words for a child", caught={}, let_go={"en": ("Keep your left ear dry.",)},
    ),
    Claim(
        "addressed to a parent",  # row 15
        caught={
            "en": ("Ask us before your child swims.", "Dear parent or carer,"),
            "pl": ("Dziecko jest wiotkie.",), "ur": ("اپنے بچے کے قریب رہیں۔",),
        },
        let_go={
            "en": ("Ask us before you swim.",), "pl": ("Proszę nas zapytać.",),
            "ur": ("ہم سے پوچھیں۔",),
        },
    ),
    *(
        Claim(
            "addressed to a parent", patient=who, caught={},
            let_go={"en": ("Ask us before your child swims.",)},
        )
        for who in (("age:child",), ("age:adult", "need:proxy"))
    ),
    Claim(
        "wrong ear",  # row 17
        caught={
            "en": ("The right ear is now clear.", "Use them in the RIGHT ear."),
            "pl": ("Prawe ucho jest już czyste.", "Proszę wkraplać krople do prawego ucha."),
            "ur": ("دایاں کان اب صاف ہے۔", "دائیں کان میں قطرے ڈالیں۔"),
        },
        let_go={
            "en": ("The left ear is clear.", "Some wax is left in the left ear.", "Right away."),
            "pl": ("Lewe ucho jest już czyste.", "Prawie gotowe."),
            "ur": ("بایاں کان اب صاف ہے۔",),
        },
    ),
    Claim(
        "wrong ear", side=Side.RIGHT,
        caught={
            "en": ("The left ear is clear.",), "pl": ("W lewym uchu jest drenik.",),
            "ur": ("بائیں کان میں گرومٹ ہے۔",),
        },
        let_go={
            "en": ("Some wax is left in the right ear.", "Leave it out."),
            "pl": ("W prawym uchu jest drenik.",), "ur": ("دائیں کان میں گرومٹ ہے۔",),
        },
    ),
    Claim(
        "wrong ear", side=Side.BOTH,
        caught={
            "en": ("The left ear is clear.",), "pl": ("Prawe ucho jest czyste.",),
            "ur": ("بایاں کان صاف ہے۔",),
        },
        let_go={
            "en": ("Both ears are clear.", "The left ear and the right ear are clear."),
            "pl": ("Lewe i prawe ucho są czyste.", "W obu uszach."), "ur": ("دونوں کان صاف ہیں۔",),
        },
    ),
    *(
        Claim(
            "dizziness line", patient=("age:adult", f"caution:{caution}"),  # row 20
            caught={
                "en": ("Too dizzy to stand up.", "Sit down."),
                "pl": ("Zawroty głowy trwające ponad jedną godzinę.",), "ur": ("چکر آ سکتے ہیں۔",),
            },
            let_go={
                "en": ("If dizzy, sit down. No stairs or driving until steady.",),
                "pl": ("Zawroty głowy? Proszę usiąść.",), "ur": ("چکر آئیں تو بیٹھ جائیں۔",),
            },
        )
        for caution in ("fall-risk", "lives-alone", "driver")
    ),
    Claim("dizziness line", caught={}, let_go={"en": ("The left ear is now clear.",)}),
)  # fmt: skip


def told(part: str) -> list[Any]:
    return [
        pytest.param(claim, language, text, id=f"{claim.rule}-{language}-{text[:30]}")
        for claim in CLAIMS
        for language, texts in getattr(claim, part).items()
        for text in texts
    ]


def judged(claim: Claim, language: str, text: str, judge: Any, visit: Any) -> set[str]:
    # Loaded by path: the folder of a test is no package.
    said = type_of(judge)
    both = {"right": ()} if claim.side is not Side.LEFT else {}
    case: Case = visit(claim.left, patient=claim.patient, language=language, **both)
    names: set[str] = judge.names(case, said(text, side=claim.side, kind=claim.kind))
    return names


def type_of(judge: Any) -> Callable[..., Any]:
    found: Callable[..., Any] = sys.modules[type(judge).__module__].Said
    return found


@pytest.mark.parametrize(("claim", "language", "text"), told("caught"))
def test_the_rule_catches(claim: Claim, language: str, text: str, judge: Any, visit: Any) -> None:
    assert claim.rule in judged(claim, language, text, judge, visit)


@pytest.mark.parametrize(("claim", "language", "text"), told("let_go"))
def test_the_rule_lets_go(claim: Claim, language: str, text: str, judge: Any, visit: Any) -> None:
    assert claim.rule not in judged(claim, language, text, judge, visit)


def test_every_entry_of_the_word_list_is_asked_for_by_a_rule() -> None:
    rooms = (HOME / "aftercare" / "rules").glob("*.py")
    code = "".join(path.read_text(encoding="utf-8") for path in rooms)
    from aftercare.library.rulewords import THINGS

    loose = {"may_get_wet", "swim_freely", "aid_in", "plug_for_washing", "aid_out", "swim_ban",
             "keep_dry", "ask_before_swimming"}  # fmt: skip
    for thing in THINGS - loose:
        asked = f'"{thing}"' in code or (thing.startswith("agent_") and 'f"agent_{agent}"' in code)
        assert asked, thing
