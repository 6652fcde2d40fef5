"""That a student was erased, told without a name: a slow salted hash of the student's id.

An id has few possible values, so whoever holds the salt can try them all; the slow hash makes
that dear, not impossible. It is personal data no longer than somebody knows the list of ids.

References
----------
Percival, C., Josefsson, S. (2016). The scrypt password-based key derivation function. RFC 7914;
N = 16384, r = 8, p = 1 are the parameters of its interactive example.
"""

import hashlib
import secrets
from collections.abc import Iterable

from reporter.archive.store import Tombstone

_COST, _BLOCK, _PARALLEL = 16_384, 8, 1


def bury(student: str, salt: str, erased_at: str, records: int) -> Tombstone:
    """Return the tombstone of a student's id; `salt` is the shelf's own, in hexadecimal."""
    return Tombstone(salt, _token(student, salt), erased_at, records)


def is_buried(student: str, tombstones: Iterable[Tombstone]) -> Tombstone | None:
    """Return the tombstone of a student's id, if there is one."""
    tokens: dict[str, str] = {}
    for one in tombstones:
        if one.salt not in tokens:
            tokens[one.salt] = _token(student, one.salt)
        if secrets.compare_digest(tokens[one.salt], one.token):
            return one
    return None


def _token(student: str, salt: str) -> str:
    hashed = hashlib.scrypt(
        student.encode(), salt=bytes.fromhex(salt), n=_COST, r=_BLOCK, p=_PARALLEL, dklen=32
    )
    return hashed.hex()
