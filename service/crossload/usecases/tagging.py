"""Tags for pieces whose owner has put none on them."""

from crossload.domain.tags import make_tag
from crossload.storage.stores import Stores

_COUNTER = "tags_made"


def next_serial(stores: Stores) -> int:
    """The serial of the next tag to be made."""
    return int(stores.own_pool.setting(_COUNTER, 0))


def note_serial(stores: Stores, serial: int) -> None:
    """Tags have been made up to this serial, without it."""
    stores.own_pool.set(_COUNTER, serial)


def take_tags(stores: Stores, count: int = 1) -> list[str]:
    """So many tags that no piece of the pool has, as tag, barcode or spoken number."""
    serial = next_serial(stores)
    tags: list[str] = []
    while len(tags) < count:
        tag = make_tag(serial)
        serial += 1
        if not stores.items.by_code(tag):
            tags.append(tag)
    note_serial(stores, serial)
    return tags
