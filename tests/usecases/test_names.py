"""Names are read as they are asked for: a few by themselves, many at once."""

from crossload.usecases.names import FEW, AsAsked
from crossload.usecases.transaction import read


def test_who_asks_for_many_has_them_all_at_once(world):
    made = [world.a_kit_type(count=1) for _ in range(FEW + 3)]
    with read(world.pool) as stores:
        names = AsAsked(stores.kit_types)
        assert [names[one.id] for one in made] == made
        assert names.is_whole
        assert len(names) == len(made)
