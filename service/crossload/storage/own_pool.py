"""A pool's own row, within a transaction."""

import json
from typing import Any

from crossload.domain.shoot import Pool
from crossload.domain.window import Id
from crossload.storage import kept, sql


class OwnPool:
    """The row of the pool that a transaction is about."""

    def __init__(self, pool: Id):
        self.pool = pool

    def get(self) -> Pool:
        """The pool as it is at this moment of the transaction."""
        found = sql.row(f"SELECT {kept.POOL.selected} FROM pool WHERE id = ?", self.pool)
        if found is None:
            raise LookupError(f"there is no pool {self.pool}")
        return kept.POOL.to_value(found)

    def change(self, version: int | None, **changes: Any) -> bool:
        """Set fields and raise the version, if it still is `version` (any when None)."""
        return sql.change("pool", kept.POOL.to_cells(changes), version, id=self.pool)

    def setting(self, name: str, otherwise: Any) -> Any:
        """One of the settings, as it is at this moment of the transaction."""
        found = sql.row("SELECT settings FROM pool WHERE id = ?", self.pool)
        return json.loads(found[0]).get(name, otherwise) if found else otherwise

    def set(self, name: str, value: Any) -> None:
        """Keep a setting that the service itself keeps count with: it makes no new version."""
        settings = self.get().settings | {name: value}
        sql.update("pool", {"settings": sql.dumps(settings)}, id=self.pool)
