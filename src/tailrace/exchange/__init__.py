"""Plain rows to files and back: the archive, the parcel, tables for reading, a calendar."""

from tailrace.exchange.archive import (
    PlainRow,
    Written,
    check_archive,
    read_archive,
    write_archive,
)
from tailrace.exchange.calendar import Due, calendar
from tailrace.exchange.parcel import Label, Parcel, open_parcel, write_parcel
from tailrace.exchange.tables import Column, Kind, Table, write_table

__all__ = [
    "Column",
    "Due",
    "Kind",
    "Label",
    "Parcel",
    "PlainRow",
    "Table",
    "Written",
    "calendar",
    "check_archive",
    "open_parcel",
    "read_archive",
    "write_archive",
    "write_parcel",
    "write_table",
]
