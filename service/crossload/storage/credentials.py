"""A pool's accounts, and their sessions, tokens, wall links and invitations."""

from collections.abc import Iterable

from crossload.domain.people import Account, Credential
from crossload.domain.window import Id, Instant
from crossload.storage import kept, sql
from crossload.storage.shelf import Shelf


class Credentials(Shelf[Credential]):
    def __init__(self, pool: Id):
        super().__init__(pool, kept.CREDENTIAL)

    def live(
        self, kinds: Iterable[str], now: Instant, account: Id | None = None
    ) -> list[Credential]:
        """Those in force, in order of making; of one account when it is named."""
        kinds = list(kinds)
        text = f"AND kind IN ({sql.marks(kinds)}) AND ended_at IS NULL AND expires_at > ?"
        values = [*kinds, now]
        if account is not None:
            text, values = f"{text} AND account_id = ?", [*values, account]
        return self._where(f"{text} ORDER BY id", *values)

    def end(self, id: Id, now: Instant) -> bool:
        """End one; False when it was ended already."""
        text = (
            "UPDATE credential SET ended_at = ? WHERE pool_id = ? AND id = ? AND ended_at IS NULL"
        )
        return bool(sql.run(text, now, self.pool, id).rowcount == 1)

    def end_of(self, account: Id, now: Instant, but: Id | None = None) -> int:
        """End all of an account, `but` one; answers how many."""
        text = (
            "UPDATE credential SET ended_at = ? WHERE pool_id = ? AND account_id = ?"
            " AND ended_at IS NULL AND id <> ?"
        )
        return int(sql.run(text, now, self.pool, account, but or 0).rowcount)

    def lengthen(self, id: Id, until: Instant) -> None:
        """Set when one runs out, unless it was ended."""
        text = (
            "UPDATE credential SET expires_at = ? WHERE pool_id = ? AND id = ? AND ended_at IS NULL"
        )
        sql.run(text, until, self.pool, id)

    def last_wrap(self, units: Iterable[Id]) -> Instant | None:
        """The last wrap of all units of the productions that these units belong to."""
        wanted = list(units)
        mine = f"SELECT production_id FROM unit WHERE pool_id = ? AND id IN ({sql.marks(wanted)})"
        text = (
            "SELECT max(wrap_s) FROM shoot_day JOIN unit ON unit.id = shoot_day.unit_id"
            f" WHERE shoot_day.pool_id = ? AND unit.production_id IN ({mine})"
        )
        found = sql.row(text, self.pool, self.pool, *wanted)
        return found[0] if found else None


class Accounts(Shelf[Account]):
    def __init__(self, pool: Id):
        super().__init__(pool, kept.ACCOUNT)

    def add_new(self, account: Account) -> bool:
        """Insert; False when some pool has the login already."""
        columns = ["pool_id", *self.kept.columns]
        line = [self.pool, *self.kept.to_row(account)]
        return bool(sql.insert_new("account", columns, [line], key="login", answer="id"))
