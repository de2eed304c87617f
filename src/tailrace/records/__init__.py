"""The append-only record: what was kept, when it came, and what it supersedes."""

from tailrace.records.home import home_folder
from tailrace.records.kept import Batch, Version

__all__ = ["Batch", "Version", "home_folder"]
