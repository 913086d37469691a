"""Custody events over HTTP: what a piece may be said to be."""

import pytest

from asking import problem
from crossload.domain import ids


@pytest.mark.parametrize(
    "piece",
    [
        lambda kit: {},
        lambda kit: {"quantity": 2},
        lambda kit: {"tag": f"{kit.name}-1", "kit_type_id": ids.to_text(kit.id)},
        lambda kit: {"tag": f"{kit.name}-1", "quantity": 2},
    ],
    ids=["nothing", "a number of nothing", "a tag and a kit type", "two of one tag"],
)
def test_a_piece_is_a_tag_or_a_number_of_a_kit_type(world, signed_in, piece):
    kit = world.a_kit_type(pieces=1)
    event = {
        "key": "one",
        "kind": "out",
        "happened_at": "2026-11-25T10:00:00Z",
        "unit_id": ids.to_text(world.units["main"]),
        "pieces": [piece(kit)],
    }
    answer = signed_in("coordinator").post("/api/v1/custody-events", json=event)
    assert problem(answer, 422, "invalid")["errors"][0]["pointer"].startswith("#/pieces/0")
