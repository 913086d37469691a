"""Who is asking, and how far they reach."""

from dataclasses import dataclass

from crossload.domain.people import PERMISSIONS, Reach, Role
from crossload.domain.window import Id
from crossload.usecases.errors import Forbidden


@dataclass(frozen=True, slots=True)
class Actor:
    """The account or the wall behind a request; neither for somebody at the machine itself."""

    pool: Id
    role: Role
    account: Id | None = None
    units: tuple[Id, ...] = ()
    credential: Id | None = None

    @classmethod
    def operator(cls, pool: Id) -> "Actor":
        """Whoever runs commands on the machine that holds the database: may do everything."""
        return cls(pool, Role.COORDINATOR)

    @property
    def owner(self) -> Id:
        """Whose idempotency keys these are: the account's, else the credential's."""
        return self.account or self.credential or self.pool

    @property
    def _called(self) -> str:
        return f"{'an' if self.role is Role.ASSISTANT else 'a'} {self.role}"

    def reach(self, verb: str) -> Reach:
        """How far the actor's role goes in this."""
        return PERMISSIONS[verb][self.role]

    def may(self, verb: str, unit: Id | None = None) -> bool:
        """Whether the actor may do this for the unit, or for all when none is named."""
        reach = self.reach(verb)
        return reach is Reach.ALL or (reach is Reach.OWN and unit in self.units)

    def must(self, verb: str, unit: Id | None = None) -> None:
        """Forbidden unless the actor may do this: for the unit, or for all when none is named."""
        if self.may(verb, unit):
            return
        if self.reach(verb) is Reach.OWN:
            raise Forbidden(f'you may "{verb}" for your own units alone: ask the coordinator')
        raise Forbidden(f'{self._called} may not "{verb}": ask the coordinator')

    def must_some(self, verb: str) -> None:
        """Forbidden unless the actor may do this for some unit at least."""
        if self.reach(verb) is Reach.NONE:
            raise Forbidden(f'{self._called} may not "{verb}": ask the coordinator')
