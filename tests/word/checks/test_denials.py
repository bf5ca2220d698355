"""Negation: lost or added is seen; double, moved and licensed denials are left alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercare.word.checks import Finding, Severity

Kinds = Callable[..., set[str]]


@pytest.mark.parametrize(
    ("source", "target", "language"),
    [
        ("Do not let anyone in.", "Proszę nie wpuszczać nikogo.", "pl"),
        ("Never swim alone.", "Ne nagez jamais sans quelqu'un.", "fr"),
        ("Never swim alone.", "Nigdy nie pływać w pojedynkę.", "pl"),
        ("It is not dangerous.", "Es ist ungefährlich.", "de"),
        ("Rest until it is dry.", "Odpoczywać, dopóki nie wyschnie.", "pl"),
        ("Leave the aid out.", "Proszę nie zakładać aparatu.", "pl"),
        ("You are too dizzy to stand.", "Zawroty głowy, nie można stać.", "pl"),
        ("Call now. Ask too if too dizzy to stand.", "Nie można stać? Proszę dzwonić.", "pl"),
        ("It feels unusual.", "感觉非常特别。", "zh"),
        ("Not only pain but fluid.", "Nicht nur Schmerz, auch Flüssigkeit.", "de"),
        ("Feel free to call.", "N'hésitez pas à appeler.", "fr"),
        ("Let nobody put drops in it.", "Ne laissez personne y mettre de gouttes.", "fr"),
        ("Leave it out.", "Setzen Sie es nicht ein.", "de"),
        ("Leave it out.", "Lassen Sie es weg.", "de"),
        ("Only one ear hurts.", "Does ddim ond un glust yn brifo.", "cy"),
        ("It did not stop.", "এটি থামেনি।", "bn"),
        ("You drink water.", "আপনি পানি খান।", "bn"),
        ("Keep it dry until it has closed.", "বন্ধ না হওয়া পর্যন্ত শুকনো রাখুন।", "bn"),
        ("We will check whether it has closed.", "বন্ধ হয়েছে কি না, আমরা দেখব।", "bn"),
        ("He will write.", "তিনি চিঠি দেবেন।", "bn"),
        ("We have not set a date.", "আমরা তারিখ ঠিক করিনি।", "bn"),
    ],
)
def test_a_denial_may_be_said_in_the_ways_of_a_language(
    source: str, target: str, language: str, kinds: Kinds
) -> None:
    assert "negation" not in kinds(source, target, language)


@pytest.mark.parametrize(
    ("source", "target", "language"),
    [
        ("Do not swim.", "Proszę pływać.", "pl"),
        ("Do not swim.", "请游泳。", "zh"),
        ("Do not swim. Ask us first.", "Nade. Pregúntenos primero.", "es"),
        ("Swim without plugs.", "Schwimmen Sie mit Stöpseln.", "de"),
        ("The ear is clear.", "Ucho nie jest czyste.", "pl"),
        ("The ear is clear.", "Nid yw'r glust yn glir.", "cy"),
        ("Leave it out.", "Lassen Sie es nicht weg.", "de"),
        ("Keep water out.", "Cadwch ddim dŵr allan.", "cy"),
        ("It was too sore to touch.", "Era prea dureroasă pentru a nu fi atinsă.", "ro"),
        ("Take it with food.", "এটি খাবারের সঙ্গে খাবেন না।", "bn"),
        ("You can swim.", "آپ تیراکی نہیں کر سکتے۔", "ur"),
        ("Do not drive until you feel steady.", "স্থির না লাগা পর্যন্ত গাড়ি চালাবেন।", "bn"),
    ],
)
def test_a_denial_lost_or_added_is_found(
    source: str, target: str, language: str, kinds: Kinds
) -> None:
    assert "negation" in kinds(source, target, language)


def test_where_the_source_may_deny_a_denial_added_only_warns(
    ask: Callable[..., tuple[Finding, ...]],
) -> None:
    found = ask("Leave the aid out today.", "Nie zakładać dziś aparatu, nie nosić.", "pl")

    assert [(one.kind, one.severity) for one in found] == [("negation", Severity.WARN)]
