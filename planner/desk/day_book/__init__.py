"""
The day book: what was planned, changed and done, kept so that it can be proved later; the one door of planner to disk.

Every change is one transaction that appends events (:mod:`.change`); what holds now is only their last word and can be
rebuilt from them (:mod:`.proof`).  Buyers' data stand apart and can be erased (:mod:`.buyers`).  The same code keeps the
book in a SQLite file or in PostgreSQL.  The time is always an argument.
"""
