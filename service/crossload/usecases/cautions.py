"""What is said with kit that can hurt somebody, or that somebody else has to agree to."""

from collections import defaultdict
from collections.abc import Iterable
from typing import NamedTuple

from crossload.domain.kit import Condition
from crossload.domain.window import Id
from crossload.usecases.names import Names

CAUTIONS = {
    **dict.fromkeys(
        ("arm", "clamp"),
        "Rigging over people or on vehicles is for competent people and by local rules: an entry"
        " here is no approval.",
    ),
    **dict.fromkeys(
        ("battery", "charger"),
        "Lithium batteries: charge them attended, on their own charger, and set aside any that are"
        " damaged or swollen.",
    ),
    "frequency": "The licence and the national regulator decide what may be transmitted, where"
    " and when.",
    **dict.fromkeys(
        ("pack", "lavalier"), "Adhesive on skin: ask about allergies first, and test it."
    ),
    **dict.fromkeys(
        ("listening receiver", "headphones", "earpiece"),
        "Keep headphone levels down: hearing does not come back.",
    ),
}
"""What is said with kit of a category that can hurt somebody."""

COMING_BACK = ("battery", "charger")
"""The categories whose cautions are for whoever takes the kit back, too."""


class Given(NamedTuple):
    """So many of a kit type, or one piece by name, that somebody gets."""

    kit_type: Id
    quantity: int
    item: Id | None = None


def all_cautions(names: Names, given: Iterable[Given]) -> list[str]:
    """Whatever is to be said with kit that goes out: the usual cautions, and whose consent it takes."""
    given = list(given)
    return [*cautions(names, (each.kit_type for each in given)), *consents(names, given)]


def cautions(names: Names, kit_types: Iterable[Id]) -> list[str]:
    """The usual cautions for kit, each once."""
    found = (CAUTIONS.get(names.kit[id].category) for id in kit_types)
    return list(dict.fromkeys(text for text in found if text))


def cautions_back(names: Names, kit_types: Iterable[Id]) -> list[str]:
    """The cautions for kit that comes back: nobody wears or rigs it now."""
    return cautions(names, (id for id in kit_types if names.kit[id].category in COMING_BACK))


def consents(names: Names, given: Iterable[Given]) -> list[str]:
    """Whose consent kit takes.

    Of a piece by name its owner is told; of a number how many of them at least, where there are
    not enough pieces that take none.
    """
    told: list[str] = []
    numbers: dict[Id, int] = defaultdict(int)
    for each in given:
        if each.item is None:
            numbers[each.kit_type] += each.quantity
        elif each.item in names.items and names.items[each.item].consent_required:
            item = names.items[each.item]
            told.append(
                f"{item.tag} belongs to {item.owner or 'another owner'}: have their consent."
            )
    for kit_type, quantity in numbers.items():
        there = [
            item.consent_required
            for item in names.stores.items.all(kit_type=kit_type)
            if item.condition is not Condition.RETIRED
        ]
        some = min(quantity - there.count(False), there.count(True))
        if some > 0:
            told.append(f"{some} of {names.kit[kit_type].name} take their owner's consent.")
    return list(dict.fromkeys(told))
