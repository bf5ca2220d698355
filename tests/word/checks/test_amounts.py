"""Numbers, units and times: kept in figures or words, and a change is seen."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Kinds = Callable[..., set[str]]
OURS = {"numbers", "units", "times"}


@pytest.mark.parametrize(
    ("source", "target", "language"),
    [
        ("Wait three days.", "Czekać 3 dni.", "pl"),
        ("Wait 24 hours.", "انتظر أربعًا وعشرين ساعة.", "ar"),
        ("Wait 24 hours.", "চব্বিশ ঘণ্টা অপেক্ষা করুন।", "bn"),
        ("Wait 72 hours.", "Attendez soixante-douze heures.", "fr"),
        ("Wait 72 hours.", "Warten Sie zweiundsiebzig Stunden.", "de"),
        ("Wait two weeks.", "Arhoswch am bythefnos.", "cy"),
        ("Wait two weeks.", "Attendez quinze jours.", "fr"),
        ("Wait two days.", "انتظر يومين.", "ar"),
        ("Wait half an hour.", "Czekać 30 minut.", "pl"),
        ("Wait half an hour.", "请等半小时。", "zh"),
        ("Give 2.5 ml.", "Podać 2,5 ml.", "pl"),
        ("Open 9am to 5pm.", "Geöffnet von 9 bis 17 Uhr.", "de"),
        ("Open 9am to 5pm.", "Ar agor o 9yb i 5yp.", "cy"),
        ("Open from 8:30 to 17:00.", "Geöffnet von 8.30 bis 17.00 Uhr.", "de"),
        ("Open until 5:30pm.", "Otwarte do 17.30.", "pl"),
        ("Come at 9:30.", "请九点半来。", "zh"),
        ("Give 1.50 ml.", "Podać 1,5 ml.", "pl"),
        ("It takes three quarters of an hour.", "Es dauert 45 Minuten.", "de"),
        ("It takes three quarters of an hour.", "اس میں پون گھنٹہ لگتا ہے۔", "ur"),
        ("It takes a quarter of an hour.", "Cela dure un quart d'heure.", "fr"),
        ("It takes an hour and a half.", "এতে দেড় ঘণ্টা লাগে।", "bn"),
        ("Closed on Saturday. On other days, come.", "星期六休息。其他日子请来。", "zh"),
        ("Wait nine months.", "Așteptați nouă luni.", "ro"),
        ("Open on Monday.", "Otwarte w poniedziałek.", "pl"),
        ("One side at a time.", "Każda strona osobno.", "pl"),
        ("Both ears are clear.", "两只耳朵都干净。", "zh"),
        ("It is a new aid.", "Este un aparat nou, o baterie nouă.", "ro"),
        ("It is very sore.", "十分疼痛。", "zh"),
    ],
)
def test_the_same_amount_may_be_said_otherwise(
    source: str, target: str, language: str, kinds: Kinds
) -> None:
    assert not kinds(source, target, language) & OURS


@pytest.mark.parametrize(
    ("source", "target", "language", "kind"),
    [
        ("Wait three days.", "Czekać cztery dni.", "pl", "numbers"),
        ("Wait three days.", "Czekać.", "pl", "numbers"),
        ("Wait.", "Espere tres días.", "es", "numbers"),
        ("Wait 10 minutes.", "১০০ মিনিট অপেক্ষা করুন।", "bn", "numbers"),
        ("Wait 3 days.", "Czekać 3 godziny.", "pl", "units"),
        ("Wait one hour.", "Espere un día.", "es", "units"),
        ("Ear pain for three days (72 hours).", "Ból ucha przez trzy dni (72 dni).", "pl", "units"),
        ("Use it twice a day.", "Proszę używać dwa razy w tygodniu.", "pl", "units"),
        ("Give 5 ml.", "Podać 5 mg.", "pl", "units"),
        ("Open on Monday.", "Otwarte we wtorek.", "pl", "times"),
        ("Open until 5pm.", "صبح 5 بجے تک کھلا۔", "ur", "times"),
        ("Come at 9:30.", "Kommen Sie um 9.50 Uhr.", "de", "numbers"),
        ("Come at 9:30.", "Kommen Sie um 9.03 Uhr.", "de", "numbers"),
        ("Open until 5:30pm.", "Otwarte do 16.30.", "pl", "numbers"),
        ("It takes three quarters of an hour.", "Es dauert eine Viertelstunde.", "de", "numbers"),
        ("Take it every other day.", "Tómelo cada tres días.", "es", "numbers"),
        ("Open from 9am.", "Abierto desde las 9 de la noche.", "es", "times"),
    ],
)
def test_another_amount_stops_a_translation(
    source: str, target: str, language: str, kind: str, kinds: Kinds
) -> None:
    assert kind in kinds(source, target, language)
