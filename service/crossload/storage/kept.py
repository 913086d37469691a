"""How each kind of value lies in its table."""

import json

from crossload.domain.custody import Custody, OutOfService
from crossload.domain.kit import Box, Condition, Item, KitType, Need, OwnerKind, Tracking
from crossload.domain.people import Account, Credential, Role
from crossload.domain.shoot import Person, Pool, Production, ShootDay, Unit, UnitKind
from crossload.storage import tables
from crossload.storage.shelf import DAY, JSON, Codec, Kept, word
from crossload.storage.sql import dumps

NEEDS = Codec(
    lambda needs: dumps([[need.category, need.quantity, list(need.match)] for need in needs]),
    lambda text: tuple(Need(c, q, tuple(match)) for c, q, match in json.loads(text)),
)
IDS = Codec(lambda ids: dumps(list(ids)), lambda text: tuple(json.loads(text)))
CONDITION = word(Condition)

POOL = Kept(tables.Pool, Pool, opening=JSON, settings=JSON)
PRODUCTION = Kept(tables.Production, Production)
UNIT = Kept(tables.Unit, Unit, kind=word(UnitKind))
PERSON = Kept(tables.Person, Person)
ACCOUNT = Kept(tables.Account, Account, role=word(Role), units=IDS)
ROLE_OR_NONE = Codec(lambda role: str(role or ""), lambda text: Role(text) if text else None)
CREDENTIAL = Kept(tables.Credential, Credential, role=ROLE_OR_NONE, units=IDS)
KIT_TYPE = Kept(
    tables.KitType,
    KitType,
    tracking=word(Tracking),
    traits=JSON,
    goes_with=NEEDS,
    substitutes=IDS,
    notes=JSON,
)
ITEM = Kept(tables.Item, Item, owner_kind=word(OwnerKind), condition=CONDITION, notes=JSON)
BOX = Kept(tables.Box, Box)
SHOOT_DAY = Kept(tables.ShootDay, ShootDay, day=DAY)
OUT_OF_SERVICE = Kept(tables.OutOfService, OutOfService, condition=CONDITION)
CUSTODY = Kept(tables.Custody, Custody, condition=CONDITION)
