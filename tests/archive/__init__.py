"""The shelf, checked against published formulas, SQLite's own tools, kills, full disks, bombs."""
