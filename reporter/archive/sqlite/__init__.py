"""The shelf's rows in SQLite: the only part of the program that speaks to it."""

from reporter.archive.sqlite.opening import create_database, open_database

__all__ = ["create_database", "open_database"]
