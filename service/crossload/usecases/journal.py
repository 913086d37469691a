"""The journal: who did what, when, and what it was before and after."""

from dataclasses import dataclass

from crossload.domain.people import Reach
from crossload.domain.window import Id
from crossload.storage.journals import Entry
from crossload.storage.stores import Stores
from crossload.usecases.actor import Actor
from crossload.usecases.transaction import read

KINDS = (
    "account", "booking", "box", "credential", "item", "kit_type", "out_of_service", "person",
    "pool", "production", "shoot_day", "unit",
)  # fmt: skip
"""What an entry can be about."""

VERB = "read the journal"


@dataclass(frozen=True, slots=True)
class Told:
    """An entry with the name its account has now; None for the service itself or the operator."""

    entry: Entry
    by: str | None


def entries(
    actor: Actor,
    after: int = 0,
    limit: int = 100,
    *,
    kind: str | None = None,
    subject: Id | None = None,
) -> list[Told]:
    """Entries in order of writing, of one subject when it is named.

    Whoever may read of their own units alone names a booking, a shoot day, a person or a unit.
    """
    actor.must_some(VERB)
    with read(actor.pool) as stores:
        if actor.reach(VERB) is Reach.OWN:
            actor.must(VERB, _unit_of(stores, kind, subject))
        found = stores.journal.page(after, limit, kind, subject)
        accounts = stores.accounts.some(e.account for e in found if e.account is not None)
    names = {id: account.name for id, account in accounts.items()}
    return [Told(e, names.get(e.account) if e.account is not None else None) for e in found]


def _unit_of(stores: Stores, kind: str | None, subject: Id | None) -> Id | None:
    """The unit that a subject belongs to; None for what belongs to all, or is not there."""
    if subject is None:
        return None
    match kind:
        case "unit":
            return subject
        case "booking":
            booking = stores.bookings.get(subject)
            return booking.unit if booking else None
        case "shoot_day":
            day = stores.shoot_days.get(subject)
            return day.unit if day else None
        case "person":
            person = stores.people.get(subject)
            return person.unit if person else None
    return None
