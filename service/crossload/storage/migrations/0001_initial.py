"""The first tables, from the SQL text beside this file."""

import re
from pathlib import Path

from peewee import SqliteDatabase


def up(migrator, db):
    text = Path(__file__).with_suffix(".sql").read_text()
    if isinstance(db, SqliteDatabase):
        text = re.sub(r"\b(BIGINT|BOOLEAN)\b", "INTEGER", text)
    statements = re.sub(r"^--.*$", "", text, flags=re.M).split(";\n")
    for statement in filter(str.strip, statements):
        db.execute_sql(statement)
