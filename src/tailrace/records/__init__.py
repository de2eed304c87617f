"""The append-only record, and the reading of log files into it."""

from tailrace.records.home import home_folder
from tailrace.records.kept import Batch, Version
from tailrace.records.log_row import subject_of
from tailrace.records.logfile import read_log
from tailrace.records.result import Aside, Doubt, ImportResult, Understood
from tailrace.records.values import Cell, Reading, read_value

__all__ = [
    "Aside",
    "Batch",
    "Cell",
    "Doubt",
    "ImportResult",
    "Reading",
    "Store",
    "Understood",
    "Version",
    "home_folder",
    "read_log",
    "read_value",
    "subject_of",
]
