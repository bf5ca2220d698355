"""A visit's outcome as plain data, in the shape other programs rely on."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from aftercare.flow import Discharge
from aftercare.model import Channel, Message, Purpose

FILES = {Channel.SMS: "sms.txt", Channel.EMAIL: "message.eml", Channel.PRINT: "leaflet.pdf"}


def summary(done: Discharge, purpose: Purpose, folder: str = "") -> dict[str, Any]:
    """The outcome of one visit as JSON values; each ``file`` starts with ``folder``."""
    return {
        "case": done.case.ref,
        "library": done.library.fingerprint,
        "sample": purpose is Purpose.SAMPLE,
        "overrides": [asdict(one) for one in done.case.overrides],
        "messages": [_message(message, folder) for message in done.messages],
        "recall": None
        if done.recall is None
        else {
            "due": done.recall.on.isoformat(),
            "reason": done.recall.reason,
            "moved_because": done.recall.moved_because,
        },
        "omitted": [{"id": one.block_id, "because": one.because} for one in done.choice.omitted],
    }


def _message(message: Message, folder: str) -> dict[str, Any]:
    told: dict[str, Any] = {
        "channel": message.channel.value,
        "language": message.language,
        "instead_of": message.instead_of,
        "status": message.status.value,
        "withheld_because": list(message.withheld_because),
        "would_withhold": list(message.would_withhold),
        "findings": list(message.findings),
        "noted": list(message.noted),
        "file": folder + FILES[message.channel] if message.body is not None else None,
        "scores": _scores(message),
        "blocks": [
            {
                "id": one.block.id,
                "version": one.block.version,
                "side": one.side.value,
                "because": list(one.because),
                "approved_by": one.block.approval.by,
            }
            for one in message.chosen
        ],
        "translation_approved_by": sorted({n.reviewer for n in message.lines if n.reviewer}),
    }
    if message.sms is not None:
        told["sms"] = {
            "encoding": message.sms.encoding,
            "units": message.sms.units,
            "parts": message.sms.parts,
            "texts": list(message.sms.texts) if message.body else [],
        }
        told["dropped"] = list(message.dropped)
    if message.pages is not None:
        told["pages"] = message.pages
    return told


def _scores(message: Message) -> dict[str, Any]:
    score = message.score
    return {
        "words": score.counts.words,
        "sentences": score.counts.sentences,
        "syllables": score.counts.syllables,
        "flesch": score.flesch,
        "fkgl": score.fkgl,
        "smog": score.smog,
        **({"formulas": dict(score.own)} if score.own else {}),
        "longest_sentence": score.counts.longest_sentence,
    }
