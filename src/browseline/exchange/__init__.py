"""A farm out and in: packs, tables, and the records that pages and ``--json`` share."""
