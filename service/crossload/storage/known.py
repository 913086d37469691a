"""What a pool knows of what an ask names, read at once: under its lock every round trip tells."""

import json
from dataclasses import dataclass
from typing import Any

from crossload.domain.booking import Ask
from crossload.domain.kit import KitType
from crossload.domain.window import Id, Instant
from crossload.storage import kept, sql


@dataclass(frozen=True, slots=True)
class Known:
    """The unit, the sender's key and the kit types of an ask, as far as the pool has them."""

    unit: bool
    """Whether there is this unit, and it has not ended."""
    kept: tuple[str, Any] | None
    """The body digest and the outcome kept under the key."""
    kit: dict[Id, KitType]
    facts: list[Id]
    """The only kit types of which some may be out, or out of service: of most kit neither is read."""


_UNIT = "SELECT id FROM unit WHERE pool_id = ? AND id = ? AND ended_at IS NULL"
_KEPT = "FROM idempotency_key WHERE pool_id = ? AND owner = ? AND key = ?"
_NAMED = f"SELECT ({_UNIT}), (SELECT body_digest {_KEPT}), (SELECT outcome {_KEPT})"
_HAS_FACTS = (
    "EXISTS (SELECT 1 FROM custody WHERE custody.pool_id = kit_type.pool_id"
    " AND custody.kit_type_id = kit_type.id AND back_at IS NULL)"
    " OR EXISTS (SELECT 1 FROM out_of_service AS away WHERE away.pool_id = kit_type.pool_id"
    " AND away.kit_type_id = kit_type.id AND away.end_s > ?)"
)


def read_known(pool: Id, ask: Ask, now: Instant, owner: Id | None, key: str | None) -> Known:
    """One statement, unless the pool has none of the kit types."""
    kit_types = sorted({line.kit_type for line in ask.lines})
    named = (pool, ask.unit, *(pool, owner, key) * 2)
    text = (
        f"{_NAMED}, {_HAS_FACTS}, {kept.KIT_TYPE.selected} FROM kit_type"
        f" WHERE pool_id = ? AND id IN ({sql.marks(kit_types)})"
    )
    found = sql.rows(text, *named, min(ask.window.start, now), pool, *kit_types)
    unit, digest, outcome = (found or sql.rows(_NAMED, *named))[0][:3]
    kit = {row[4]: kept.KIT_TYPE.to_value(row[4:]) for row in found}
    facts = [row[4] for row in found if row[3]]
    earlier = None if digest is None else (digest, json.loads(outcome))
    return Known(unit is not None, earlier, kit, facts)
