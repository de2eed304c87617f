"""What arrives is understood here: files, typed lines and sensor messages become entries."""

from tailrace.intake.log_row import subject_of
from tailrace.intake.logfile import read_log
from tailrace.intake.result import Aside, Doubt, ImportResult, Understood
from tailrace.intake.values import Cell, Reading, read_value

__all__ = [
    "Aside",
    "Cell",
    "Doubt",
    "ImportResult",
    "Reading",
    "Understood",
    "read_log",
    "read_value",
    "subject_of",
]
