"""Air pumps, needles, variable-area meters: plain functions and small frozen records."""
