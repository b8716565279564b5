"""Named shop and policy files, and tokens, in the ledger's database."""

import hashlib
import secrets
from dataclasses import dataclass
from typing import Final, Literal

from sqlalchemy import delete, insert, select, update

from worker.ledger import Ledger, now
from worker.ledger_tables import SETTINGS_FILES, TOKENS

Kind = Literal["shop", "policy"]
Scope = Literal["read", "write", "admin"]
SCOPES: Final[tuple[Scope, ...]] = ("read", "write", "admin")
"""Each includes those before it."""


@dataclass(frozen=True, slots=True)
class NamedFile:
    """A settings file under its name."""

    kind: Kind
    name: str
    digest: str
    changed_at: str


class Registry:
    """Names for settings files, and who may do what."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    def put(self, kind: Kind, name: str, digest: str) -> NamedFile:
        """Give a kept file a name, or a name another file."""
        mine = (SETTINGS_FILES.c.kind == kind, SETTINGS_FILES.c.name == name)
        values = {"digest": digest, "changed_at": now()}
        with self._ledger.change() as connection:
            if connection.execute(update(SETTINGS_FILES).where(*mine).values(values)).rowcount == 0:
                connection.execute(insert(SETTINGS_FILES).values(kind=kind, name=name, **values))
        return NamedFile(kind, name, **values)

    def files(self, kind: Kind) -> list[NamedFile]:
        """Return all named files of a kind in the order of their names."""
        query = select(SETTINGS_FILES).where(SETTINGS_FILES.c.kind == kind).order_by(SETTINGS_FILES.c.name)
        with self._ledger.look() as connection:
            return [NamedFile(**row) for row in connection.execute(query).mappings()]

    def digest(self, kind: Kind, name: str) -> str | None:
        """Return the digest of the file of that name; None where there is none."""
        return next((each.digest for each in self.files(kind) if each.name == name), None)

    def make_token(self, name: str, scope: Scope) -> str:
        """Return a new token; only its hash is kept, so it is shown this once. One of the same name is replaced."""
        token = f"ps_{secrets.token_urlsafe(32)}"
        with self._ledger.change() as connection:
            connection.execute(delete(TOKENS).where(TOKENS.c.name == name))
            connection.execute(insert(TOKENS).values(hash=_hash(token), name=name, scopes=scope, made_at=now()))
        return token

    def drop_token(self, name: str) -> bool:
        """Make a token worthless; False where there is none of that name."""
        with self._ledger.change() as connection:
            return connection.execute(delete(TOKENS).where(TOKENS.c.name == name)).rowcount == 1

    def allows(self, token: str, scope: Scope) -> bool:
        """Return True where the token may do what the scope names."""
        with self._ledger.look() as connection:
            given = connection.execute(select(TOKENS.c.scopes).where(TOKENS.c.hash == _hash(token))).scalar()
        return given in SCOPES and SCOPES.index(given) >= SCOPES.index(scope)

    def has_tokens(self) -> bool:
        """Return True where at least one token exists."""
        with self._ledger.look() as connection:
            return connection.execute(select(TOKENS.c.hash).limit(1)).first() is not None


def _hash(token: str) -> str:
    """Return what is kept of a token: it is long and random, so a plain SHA-256 cannot be turned back."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
