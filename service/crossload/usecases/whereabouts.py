"""The pool that somebody is in, with its units: what a page shows around everything else."""

from dataclasses import dataclass

from crossload.domain.shoot import Pool, UnitKind
from crossload.domain.window import Id
from crossload.usecases.actor import Actor
from crossload.usecases.transaction import read


@dataclass(frozen=True, slots=True)
class UnitThere:
    id: Id
    name: str
    kind: UnitKind
    production: str


@dataclass(frozen=True, slots=True)
class Around:
    pool: Pool
    units: tuple[UnitThere, ...]


def around(actor: Actor) -> Around:
    """The actor's pool and its units that have not ended, in order of making."""
    with read(actor.pool) as stores:
        pool = stores.own_pool.get()
        productions = {one.id: one.name for one in stores.productions.all()}
        units = stores.units.all(ended_at=None)
    there = (UnitThere(one.id, one.name, one.kind, productions[one.production]) for one in units)
    return Around(pool, tuple(there))
