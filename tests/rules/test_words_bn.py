"""The rules that look for words, on Bengali: made-up words are caught, near misses let go.

The Bengali is this project's own draft; no native speaker has read it yet.
"""

from __future__ import annotations

import sys
from typing import Any

import pytest

from aftercare.model import Kind, Side

ADULT = ("age:adult",)
HOLE, CAVITY = ("condition:perforation",), ("condition:open-cavity",)
GROMMET, DROPS = ("condition:grommet",), ("drops:prescribed",)
ONE_EAR = ("age:adult", "caution:only-hearing-ear")
THINNER = ("age:adult", "caution:blood-thinner")
# A rule, the facts of the left ear and of the patient, words it must catch, words it must let go.
CLAIMS: tuple[tuple[str, tuple[str, ...], tuple[str, ...], tuple[str, ...], tuple[str, ...]], ...]
CLAIMS = (
    (
        "self-bought drops", HOLE, ADULT,
        ("বাম কানে অলিভ অয়েল দিন।", "ফার্মেসি থেকে ড্রপ কিনে নিন।", "খৈল নরম করার ড্রপ ব্যবহার করুন।"),
        ("বাম কানে তেল দেবেন না।", "খৈল নরম করার ড্রপ দেওয়ার আগে আমাদের জিজ্ঞেস করুন।"),
    ),
    (
        "aminoglycoside drops", GROMMET, ADULT,
        ("জেন্টামাইসিনের ড্রপ ব্যবহার করুন।",),
        ("জেন্টামাইসিনের ড্রপ ব্যবহার করবেন না।", "সিপ্রোফ্লক্সাসিনের ড্রপ ব্যবহার করুন।"),
    ),
    (
        "drops and keep dry", DROPS, ADULT,
        ("বাম কান শুকনো রাখুন।", "কানে কিছু ঢোকাবেন না।", "কানে পানি ঢুকতে দেবেন না।"),
        ("বাম কান শুকনো রাখুন। লেবেলে লেখা নিয়মে ড্রপ ব্যবহার করুন।", "ড্রপ ছাড়া কানে কিছু দেবেন না।"),
    ),
    (
        "swim ban with a grommet", GROMMET, ADULT,
        ("সাঁতার কাটবেন না।", "ছয় সপ্তাহ সাঁতার কাটা নিষেধ।"),
        ("কখনো একা সাঁতার কাটবেন না।", "সাঁতারের সময় বাম কান ভেজানো যাবে।"),
    ),
    (
        "wax advice for a cavity", CAVITY, ADULT,
        (
            "পানি দিয়ে বাম কান পরিষ্কার করুন।", "আগে খৈল নরম করুন।", "কান নিজে নিজে পরিষ্কার হয়।",
            "আপনি সাঁতার কাটতে পারেন।", "সিরিঞ্জ দিয়ে কান ধুয়ে নিন।",
        ),
        (
            "কাউকে পানি দিয়ে বাম কান পরিষ্কার করতে দেবেন না।", "আপনি সাঁতার কাটতে পারবেন না।",
            "ক্যাভিটি নিজে নিজে পরিষ্কার হতে পারে না।", "সাঁতার কাটার আগে আমাদের জিজ্ঞেস করুন।",
        ),
    ),
    (
        "nut oil", (), ("age:adult", "allergy:peanut"),
        ("বাদাম তেল ব্যবহার করুন।", "এতে সয়াবিন আছে।"), ("বাদাম তেল ব্যবহার করবেন না।", "অলিভ অয়েল দিন।"),
    ),
    (
        "allergy to the drops", (), ("age:adult", "allergy:quinolone"),
        ("সিপ্রোফ্লক্সাসিনের ড্রপ দিন।",), ("জেন্টামাইসিনের ড্রপ দিন।",),
    ),
    (
        "72-hour rule", ("condition:otitis-externa",), ("age:adult", "caution:diabetes"),
        ("ড্রপ ব্যবহার করুন।", "তিন দিনেও ভালো না হলে অপেক্ষা করুন।"),
        ("কানের ব্যথা 3 দিনেও ভালো না হলে সেই দিনই আমাদের জানান।",),
    ),
    (
        "blood thinner", (), THINNER,
        (
            "অ্যাসপিরিন খান। রক্ত পড়া থেমে যাবে।", "রক্ত পাতলা করার ওষুধ বন্ধ করুন। রক্ত পড়া থামবে।",
            "আজ ওষুধ খাবেন না। রক্ত পড়তে পারে।", "বাম কান পরিষ্কার।",
        ),
        (
            "রক্ত পাতলা করার ওষুধ নিতে থাকুন। ফোঁটা ফোঁটা রক্ত পড়তে পারে।",
            "ওষুধ বন্ধ করবেন না, রক্ত পড়লেও না।", "অ্যাসপিরিন খাবেন না। রক্ত পড়লে আমাদের জানান।",
        ),
    ),
    (
        "bone medicine", (), ("age:adult", "caution:bone-medicine"),
        ("প্রচণ্ড ব্যথা।", "কান থেকে তরল বের হওয়া।"), ("কানে কোনো ব্যথা বা তরল।",),
    ),
    (
        "only-hearing ear", (), ONE_EAR,
        (
            "কানে চাপা শোনা দুই দিন থাকতে পারে।", "কম শুনলে তিন দিনের মধ্যে আমাদের জানান।",
            "নার্স পানি দিয়ে কান পরিষ্কার করতে পারেন।",
        ),
        ("হঠাৎ কম শুনলে সেই দিনই আমাদের জানান।", "কাউকে কান ধুতে দেবেন না।"),
    ),
    (
        "adult words for a child", (), ("age:child",),
        (
            "আপনার কান শুকনো রাখুন।", "আপনার মাথা ঘুরলে বসে পড়ুন।", "ব্যথা হলে অ্যাসপিরিন দিন।",
            "দুটি ট্যাবলেট খান।", "30 দিনের মধ্যে আসুন।",
        ),
        ("আপনার সন্তানের মাথা ঘুরলে তাকে বসান।", "মাথা ঘুরলে বসে পড়ুন।", "অ্যাসপিরিন দেবেন না।"),
    ),
    (
        "addressed to a parent", (), ADULT,
        ("আপনার সন্তান সাঁতার কাটার আগে বলুন।", "প্রিয় অভিভাবক,"), ("আপনি সাঁতার কাটার আগে বলুন।",),
    ),
    (
        "wrong ear", (), ADULT,
        ("ডান কান এখন পরিষ্কার।", "ডানদিকের কানে ড্রপ দিন।"), ("বাম কান এখন পরিষ্কার।", "বাঁ কান।"),
    ),
    (
        "dizziness line", (), ("age:adult", "caution:driver"),
        ("মাথা এত ঘোরা যে দাঁড়ানো যায় না।", "বসে পড়ুন।"), ("মাথা ঘুরলে বসে পড়ুন। গাড়ি চালাবেন না।",),
    ),
)  # fmt: skip


def told(part: int) -> list[Any]:
    return [(*claim[:3], text) for claim in CLAIMS for text in claim[part]]


def judged(left: Any, patient: Any, text: str, judge: Any, visit: Any) -> set[str]:
    # Loaded by path: the folder of a test is no package.
    said = sys.modules[type(judge).__module__].Said
    case = visit(left, patient=patient, language="bn")
    names: set[str] = judge.names(case, said(text, side=Side.LEFT, kind=Kind.CARE))
    return names


@pytest.mark.parametrize(("rule", "left", "patient", "text"), told(3))
def test_the_rule_catches_bengali(
    rule: str, left: Any, patient: Any, text: str, judge: Any, visit: Any
) -> None:
    assert rule in judged(left, patient, text, judge, visit)


@pytest.mark.parametrize(("rule", "left", "patient", "text"), told(4))
def test_the_rule_lets_bengali_go(
    rule: str, left: Any, patient: Any, text: str, judge: Any, visit: Any
) -> None:
    assert rule not in judged(left, patient, text, judge, visit)
