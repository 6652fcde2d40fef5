"""The shelf's rows in PostgreSQL: the only part of the program that speaks to it."""

from reporter.archive.postgresql.opening import create_database, open_database

__all__ = ["create_database", "open_database"]
