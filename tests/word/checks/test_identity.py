"""The right language: untranslated and foreign texts are seen; names and headings are not."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Kinds = Callable[..., set[str]]


@pytest.mark.parametrize(
    ("source", "target", "language", "found"),
    [
        ("Keep the ear dry today.", "Keep the ear dry today.", "pl", "untranslated"),
        ("Keep the ear dry today.", "Proszę keep the ear dry.", "pl", "untranslated"),
        ("Keep the ear dry today.", "Please hold this ear without water.", "ur", "untranslated"),
        ("Keep the ear dry.", "Halten Sie das Ohr trocken und sauber.", "es", "language"),
        ("Keep the ear dry.", "أبقِ الأذن جافة في هذا اليوم.", "ur", "language"),
        ("Keep the ear dry.", "کان کو خشک رکھیں اور ہاتھ نہ لگائیں۔", "ar", "language"),
        ("Keep the ear dry.", "कान को सूखा रखें।", "pa", "language"),
        ("Keep the ear dry.", "Держите ухо сухим.", "pl", "language"),
        ("Keep it dry.", "Tenga l'orecchio asciutto per tre giorni e non nuoti.", "es", "language"),
        ("Keep it dry.", "Udržujte ucho suché a pokud je to možné, neplavte.", "pl", "language"),
        ("Keep it dry.", "گوش را تا سه روز خشک نگه دارید و شنا نکنید.", "ur", "language"),
        ("Listen to the doctor.", "請聽醫生的話。", "zh_Hans", "language"),
        ("Keep the ear dry.", "کان كو خشک رکھیں۔", "ur", "language"),
    ],
)
def test_another_language_is_seen(
    source: str, target: str, language: str, found: str, kinds: Kinds
) -> None:
    assert found in kinds(source, target, language)


@pytest.mark.parametrize(
    ("source", "target", "language"),
    [
        ("Page", "Page", "fr"),
        ("E-mail", "E-mail", "pl"),
        ("{clinic_short_name}:", "{clinic_short_name}:", "ur"),
        ("SMS: {clinic_text_number}", "SMS: {clinic_text_number}", "bn"),
        ("Text the word **register**.", "لفظ **register** ٹیکسٹ کریں۔", "ur"),
        ("Larkfield Ear Care", "Larkfield Ear Care", "xx"),
    ],
)
def test_short_headings_and_names_may_stay(
    source: str, target: str, language: str, kinds: Kinds
) -> None:
    assert not kinds(source, target, language) & {"untranslated", "language"}
