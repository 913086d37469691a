"""What is asked before the pool is known: whose a secret or a login is, and failed sign-ins."""

from dataclasses import dataclass
from typing import Any

from crossload.domain.people import Account, Credential
from crossload.domain.window import Id, Instant
from crossload.storage import kept, sql
from crossload.storage.database import connected
from crossload.storage.shelf import Kept


@dataclass(frozen=True, slots=True)
class Found:
    """A credential with whom it stands for."""

    pool: Id
    zone: str
    credential: Credential
    account: Account | None


def find(digest: str) -> Found | None:
    """The credential of this digest, in whichever pool it is, live or not."""
    credential = _columns(kept.CREDENTIAL, "credential")
    account = _columns(kept.ACCOUNT, "account")
    text = (
        f"SELECT pool.id, pool.zone, {credential}, {account} FROM credential"
        " JOIN pool ON pool.id = credential.pool_id"
        " LEFT JOIN account ON account.id = credential.account_id WHERE credential.digest = ?"
    )
    with connected():
        found = sql.row(text, digest)
    if found is None:
        return None
    pool, zone, *rest = found
    split = len(kept.CREDENTIAL.columns)
    whose = kept.ACCOUNT.to_value(rest[split:]) if rest[split] is not None else None
    return Found(pool, zone, kept.CREDENTIAL.to_value(rest[:split]), whose)


def _columns(kind: Kept[Any], table: str) -> str:
    return ", ".join(f'{table}."{column}"' for column in kind.columns)


def account_of(login: str) -> tuple[Id, Account] | None:
    """The account of a login, with its pool: logins are unique over all pools."""
    text = f"SELECT pool_id, {kept.ACCOUNT.selected} FROM account WHERE login = ?"
    with connected():
        found = sql.row(text, login)
    return (found[0], kept.ACCOUNT.to_value(found[1:])) if found else None


def demo_accounts() -> list[tuple[Id, Account]]:
    """The accounts that demo sign-ins may use, in order of making."""
    text = (
        f"SELECT account.pool_id, {_columns(kept.ACCOUNT, 'account')} FROM account"
        " JOIN pool ON pool.id = account.pool_id WHERE pool.demo AND account.demo"
        " AND account.ended_at IS NULL ORDER BY account.id"
    )
    with connected():
        return [(row[0], kept.ACCOUNT.to_value(row[1:])) for row in sql.rows(text)]


def count_try(subject: str, now: Instant, window_s: int) -> tuple[int, Instant]:
    """Count one more failed try; answers how many in this window, and when the window began.

    One statement, so that tries at the same time are all counted.
    """
    begins_anew = "sign_in_try.since <= ?"
    text = (
        "INSERT INTO sign_in_try (subject, failures, since) VALUES (?, 1, ?)"
        " ON CONFLICT (subject) DO UPDATE SET"
        f" failures = CASE WHEN {begins_anew} THEN 1 ELSE sign_in_try.failures + 1 END,"
        f" since = CASE WHEN {begins_anew} THEN excluded.since ELSE sign_in_try.since END"
        " RETURNING failures, since"
    )
    over = now - window_s
    with connected():
        found = sql.row(text, subject, now, over, over)
    assert found is not None
    return found[0], found[1]


def forgive_try(subject: str) -> None:
    """Take back one try that turned out to be good."""
    with connected():
        sql.run(
            "UPDATE sign_in_try SET failures = failures - 1 WHERE subject = ? AND failures > 0",
            subject,
        )


def forget_tries(subject: str, before: Instant) -> None:
    """Drop a subject's tries, and all whose window began at `before` or earlier."""
    with connected():
        sql.run("DELETE FROM sign_in_try WHERE subject = ? OR since <= ?", subject, before)
