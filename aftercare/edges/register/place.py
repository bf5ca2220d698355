"""Where a clinic's register is, and what lies beside it: the chain's key and its anchor."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from aftercare.edges.folder import is_shipped
from aftercare.errors import BadInput, OutOfReach

DATABASE, PASSPHRASE, PASSPHRASE_FILE = (
    "AFTERCARE_DATABASE",
    "AFTERCARE_REGISTER_KEY",
    "AFTERCARE_REGISTER_KEY_FILE",
)
# A passphrase that somebody types can be guessed from a stolen file; this asks for a made one.
SHORTEST_PASSPHRASE = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One register. ``file`` is its SQLite file, or None when ``url`` is a PostgreSQL server.

    ``beside`` is the path that the key and the anchor of the chain are named after; ``passphrase``
    is that of an encrypted file.
    """

    beside: Path
    file: Path | None = None
    url: str = field(default="", repr=False)
    passphrase: str | None = field(default=None, repr=False)

    @property
    def name(self) -> str:
        """How errors call it: the file, or the server without user and password."""
        if self.file is not None:
            return str(self.file)
        parts = urlsplit(self.url)
        return f"postgresql://{parts.hostname or 'local'}{parts.path}"

    @property
    def key(self) -> Path:
        """The file with the chain's key."""
        return self.beside.with_name(self.beside.name + ".key")

    @property
    def anchor(self) -> Path:
        """The file with the chain's length and last code, outside the database."""
        return self.beside.with_name(self.beside.name + ".anchor")


def find_place(home: Path, environment: Mapping[str, str]) -> Place:
    """The register of a clinic: ``AFTERCARE_DATABASE``, else ``out/register.sqlite`` at home.

    Raises ``BadInput`` for an address that is neither SQLite nor PostgreSQL, ``OutOfReach`` when
    the file with the passphrase cannot be read.
    """
    out = (Path() if is_shipped(home) else home) / "out"
    url = environment.get(DATABASE, "")
    passphrase = _passphrase(environment)
    scheme = url.partition(":")[0]
    if scheme in ("postgresql", "postgresql+psycopg"):
        if passphrase is not None:
            raise BadInput(PASSPHRASE, "a PostgreSQL register is not encrypted by it", "unset it")
        driver = url.replace(scheme, "postgresql+psycopg", 1)
        return Place(beside=out / "register", url=driver)
    file = _file(url) if url else out / "register.sqlite"
    return Place(beside=file, file=file, passphrase=passphrase)


def _file(url: str) -> Path:
    path = url.removeprefix("sqlite:///")
    if path == url or path in ("", ":memory:") or "?" in path:
        # The address may hold a password: it is not repeated.
        raise BadInput(
            DATABASE, "not an address of a register", "write sqlite:///FILE or postgresql://..."
        )
    return Path(path)


def _passphrase(environment: Mapping[str, str]) -> str | None:
    """The passphrase itself, or the first line of the file that was named."""
    named = environment.get(PASSPHRASE_FILE)
    said = environment.get(PASSPHRASE)
    if named:
        try:
            said = Path(named).read_text(encoding="utf-8").partition("\n")[0].strip()
        except (OSError, UnicodeDecodeError):
            raise OutOfReach(
                f"{PASSPHRASE_FILE} {named}", "cannot be read", "check its rights"
            ) from None
    elif not said:
        return None
    if len(said or "") < SHORTEST_PASSPHRASE:
        raise BadInput(
            PASSPHRASE_FILE if named else PASSPHRASE,
            f"shorter than {SHORTEST_PASSPHRASE} characters",
            "make one at random, such as with 'openssl rand -hex 32'",
        )
    return said
