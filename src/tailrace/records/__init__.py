"""The store: append-only record, import of logs, export."""
