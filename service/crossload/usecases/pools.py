"""Pools: made by the program itself, since nobody can sign in to one that is not there."""

from crossload.domain import ids
from crossload.domain.shoot import Pool
from crossload.domain.window import Id, Instant
from crossload.domain.zones import load_zone
from crossload.storage import pools as stored
from crossload.storage.ids import new_id
from crossload.usecases.actor import Actor
from crossload.usecases.errors import Invalid, NotFound
from crossload.usecases.transaction import read


def make_pool(name: str, *, zone: str, currency: str, now: Instant, demo: bool = False) -> Pool:
    """A pool without kit. Invalid for an unknown zone or what is no currency code (ISO 4217)."""
    check_zone(zone)
    check_currency(currency)
    pool = Pool(new_id(), name, zone, currency, demo=demo)
    stored.add_pool(pool, now)
    return pool


def check_zone(zone: str) -> None:
    """Invalid for what is no IANA time zone; the sentence names close ones."""
    try:
        load_zone(zone)
    except ValueError as error:
        raise Invalid([("/zone", str(error))]) from error


def check_currency(currency: str) -> None:
    """Invalid for what has not the shape of an ISO 4217 code, three letters."""
    if not (
        len(currency) == 3 and currency.isascii() and currency.isalpha() and currency.isupper()
    ):
        raise Invalid([("/currency", "a currency is three capitals, such as GBP")])


def all_pools() -> list[Pool]:
    """Every pool of the database, in order of making."""
    return stored.all_pools()


def only_pool(id: Id | None = None) -> Pool:
    """The pool of this id, or the only one there is; NotFound says which there are."""
    pools = stored.all_pools()
    if not pools:
        raise NotFound(
            "pool", "there is no pool yet: make one with crossload serve --empty or crossload demo"
        )
    found = [pool for pool in pools if id is None or pool.id == id]
    if len(found) == 1:
        return found[0]
    there = ", ".join(f"{ids.to_text(pool.id)} ({pool.name})" for pool in pools)
    raise NotFound("pool", f"name the pool with --pool: there are {there}")


def has_accounts(pool: Id) -> bool:
    """Whether somebody can sign in to the pool, or could once they have a password."""
    with read(pool) as stores:
        return bool(stores.accounts.all(ended_at=None))


def operator(pool: Id | None = None) -> Actor:
    """Whoever works at the machine itself, on one pool."""
    return Actor.operator(only_pool(pool).id)
