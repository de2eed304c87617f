"""What is out of order, with the readings and the computed facts that say so.

`findings` lists everything found; what to do about it is decided in `tailrace.advice`.
"""

from tailrace.diagnosis.findings import Finding, Weight, findings

__all__ = ["Finding", "Weight", "findings"]
