"""Water in pipes, valves, pumps, weirs, packed beds and networks: plain functions and records."""
