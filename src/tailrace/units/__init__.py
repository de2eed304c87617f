"""Conversion at the borders: text that people write to SI and back; pint lives here alone."""
