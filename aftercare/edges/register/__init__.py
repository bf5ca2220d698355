"""The recall register in a database: SQLite in one file, an encrypted one, or PostgreSQL.

The database library takes a quarter of a second to load: nothing here loads it before a register
is opened.
"""

from aftercare.edges.register.place import Place, find_place

__all__ = ["Place", "find_place"]
