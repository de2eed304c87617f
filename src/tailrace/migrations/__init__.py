"""How the tables of the record grew, one step a module; run by `tailrace.records.upgrade`."""
