"""The database, and the only floor that knows it: tables, migrations, queries that return values."""
