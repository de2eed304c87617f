"""Air pumps, lines, meters, airlifts, gas transfer: plain functions and small frozen records."""
