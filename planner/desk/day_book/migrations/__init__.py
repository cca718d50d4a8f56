"""Migrations: the steps by which an older day book gets the newest form, run by :mod:`planner.desk.day_book.schema`."""
