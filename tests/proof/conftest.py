"""A shelf to write on: the checkout's settings with a few made-up blocks."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from aftercare.library import block_paths, read
from aftercare.model import Library


@pytest.fixture(scope="session")
def shelf_of(shelf: dict[str, bytes]) -> Callable[..., Library]:
    """A library with these block files alone, by id, and settings changed by path."""
    bare = {
        path: raw
        for path, raw in shelf.items()
        if path not in set(block_paths(shelf)) and not path.startswith("locales/")
    }

    def made(*blocks: str, **changed: Callable[[str], str]) -> Library:
        files = dict(bare)
        for number, text in enumerate(blocks):
            files[f"content/made/{number}.md"] = text.encode()
        for name, change in changed.items():
            path = {"limits": "shared/limits.toml", "frame": "content/frame.toml"}[name]
            files[path] = change(files[path].decode()).encode()
        return read(files)

    return made
