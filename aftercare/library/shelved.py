"""Catalogues on their shelf: each is read when somebody first asks for it, and once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from aftercare.library.catalogues import (
    catalogue_of,
    direction,
    header_faults,
    languages,
    read_reviewers,
)
from aftercare.library.paths import Files
from aftercare.library.po import read_po
from aftercare.library.signing import approvals_path
from aftercare.model import Catalogue


class Shelved(Mapping[str, Catalogue]):
    """The catalogues among ``files``, by language.

    Asking for one that cannot be trusted raises ``BadContent`` with its file and line; the
    others are none the worse. Which there are is known without reading any.
    """

    def __init__(self, files: Files) -> None:
        self._files = files
        self._paths = languages(files)
        self._read: dict[str, Catalogue] = {}

    def __getitem__(self, language: str) -> Catalogue:
        if language not in self._read:
            self._read[language] = self._catalogue(language, self._paths[language])
        return self._read[language]

    def __iter__(self) -> Iterator[str]:
        return iter(self._paths)

    def __len__(self) -> int:
        return len(self._paths)

    def __contains__(self, language: object) -> bool:
        return language in self._paths

    def _catalogue(self, language: str, path: str) -> Catalogue:
        direction(language)
        po = read_po(path, self._files[path])
        for fault in (*po.faults, *header_faults(language, po)):
            raise fault
        beside = approvals_path(language)
        approvals = self._files.get(beside)
        reviewers = {} if approvals is None else read_reviewers(beside, approvals)
        return catalogue_of(language, po, reviewers)
