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
        ("Put nothing in it, not even soap.", "Proszę nic nie wkładać, nawet mydła.", "pl"),
        ("Put nothing in it, not even soap.", "No meta nada, ni siquiera jabón.", "es"),
        ("Keep it on, unless we tell you otherwise.", "আমরা অন্য কিছু না বললে এটি পরে থাকুন।", "bn"),
        ("Use no more than one.", "Nehmen Sie höchstens eins.", "de"),
        ("It is not dry until we say so.", "Nie jest suche, dopóki tego nie powiemy.", "pl"),
        ("Wait until dry and not sore.", "Czekać, dopóki ucho nie będzie suche i zdrowe.", "pl"),
        ("No stairs until steady.", "Dopóki zawroty nie miną: żadnych schodów.", "pl"),
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
        ("Put nothing in it, not even soap.", "Alles darf hinein, auch nicht Seife.", "de"),
        ("Not even soap may get in.", "Seife darf hinein.", "de"),
        ("Do not swim until it has healed.", "Proszę pływać, dopóki się nie zagoi.", "pl"),
        ("Do not swim until we say so.", "Nagez tant que nous ne vous le disons pas.", "fr"),
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
        ("Use no cotton buds. Do not let it get wet.", "Nu folosiți bețișoare. Lăsați-o.", "ro"),
        ("Use no buds, and no drops we did not name.", "No use bastoncillos, ni gotas.", "es"),
        ("If it does not stop, do not wait.", "Jeśli nie ustaje, proszę czekać.", "pl"),
        ("If nothing has come, contact us.", "Ist nichts da, melden Sie sich nicht.", "de"),
        ("It should not hurt and not bleed.", "يجب ألا يؤلم وأن ينزف.", "ar"),
        ("It should hurt.", "ينبغي لكم وألا يؤلم.", "ar"),
    ],
)
def test_a_denial_lost_or_added_is_found(
    source: str, target: str, language: str, kinds: Kinds
) -> None:
    assert "negation" in kinds(source, target, language)


DIZZY = "Call {emergency_number} now. Call too if too dizzy to stand."


@pytest.mark.parametrize(
    ("target", "language"),
    [
        ("لا تتصلوا بالرقم {emergency_number} الآن. اتصلوا عند دوخة تمنع الوقوف.", "ar"),
        ("এখনই {emergency_number} নম্বরে ফোন করবেন না। মাথা ঘুরে দাঁড়াতে না পারলেও ফোন করুন।", "bn"),
        ("Peidiwch â ffonio {emergency_number} nawr. Ffoniwch os oes gormod o bendro.", "cy"),
        ("Rufen Sie {emergency_number} nicht an. Auch bei Schwindel.", "de"),
        ("No llame ahora al {emergency_number}. Llame si el mareo impide estar de pie.", "es"),
        ("N'appelez pas le {emergency_number}. Appelez si trop de vertiges.", "fr"),
        ("ਹੁਣੇ {emergency_number} ਤੇ ਫੋਨ ਨਾ ਕਰੋ। ਚੱਕਰਾਂ ਕਰਕੇ ਖੜ੍ਹੇ ਨਾ ਹੋ ਸਕੋ, ਤਾਂ ਵੀ ਕਰੋ।", "pa"),
        ("Nie dzwonić pod {emergency_number}. Dzwonić, gdy nie można stać.", "pl"),
        ("Não ligue já para o {emergency_number}. Ligue se as tonturas impedirem de andar.", "pt"),
        ("Nu sunați imediat la {emergency_number}. La fel pentru amețeală prea mare.", "ro"),
        ("فوراً {emergency_number} پر کال نہ کریں۔ چکروں سے کھڑا نہ ہو پانا؟ کال کریں۔", "ur"),
        ("请不要拨打 {emergency_number}。头晕得站不住，也请拨打。", "zh"),
    ],
)
def test_a_call_denied_stops_though_the_source_denies_something_else(
    target: str, language: str, ask: Callable[..., tuple[Finding, ...]]
) -> None:
    found = [one for one in ask(DIZZY, target, language) if one.kind == "negation"]

    assert [one.severity for one in found] == [Severity.BLOCK]


@pytest.mark.parametrize(
    ("source", "target", "language"),
    [
        ("Do not use stairs or drive.", "سیڑھیوں پر نہ جائیں، گاڑی نہ چلائیں۔", "ur"),
        ("Use no buds or drops that we did not name.", "Nie wolno patyczków ani kropli.", "pl"),
        ("Use no drops, and do not swim.", "Não use gotas, nem nade.", "pt"),
        ("It should not hurt and not bleed.", "يجب ألا يؤلم وألا ينزف.", "ar"),
        ("You should not swim.", "يجب الا تسبحوا.", "ar"),
        ("Swim only with us.", "تسبحون معنا وإلا فانتظروا.", "ar"),
        (
            "If no reply comes, call {clinic_phone}.",
            "{clinic_phone}, dacă nu primiți răspuns.",
            "ro",
        ),
        (
            "If no reply comes, call {clinic_phone}.",
            "উত্তর না এলে {clinic_phone} নম্বরে ফোন করুন।",
            "bn",
        ),
    ],
)
def test_one_denial_may_be_said_of_several_things_or_again_of_each(
    source: str, target: str, language: str, kinds: Kinds
) -> None:
    assert "negation" not in kinds(source, target, language)


def test_where_the_source_may_deny_a_denial_added_only_warns(
    ask: Callable[..., tuple[Finding, ...]],
) -> None:
    found = ask("Leave the aid out today.", "Nie zakładać dziś aparatu, nie nosić.", "pl")

    assert [(one.kind, one.severity) for one in found] == [("negation", Severity.WARN)]
