"""The first tables, from the SQL text beside this file."""

import re
from pathlib import Path
from typing import Any

from peewee import SqliteDatabase


def up(migrator: Any, db: Any) -> None:
    text = Path(__file__).with_suffix(".sql").read_text()
    if isinstance(db, SqliteDatabase):
        text = re.sub(r"\b(BIGINT|BOOLEAN)\b", "INTEGER", text)
        text = re.sub(r"/\* SQLite: (.*?) \*/", r"\1", text)
    statements = re.sub(r"^--.*$", "", text, flags=re.M).split(";\n")
    for statement in filter(str.strip, statements):
        db.execute_sql(statement)
