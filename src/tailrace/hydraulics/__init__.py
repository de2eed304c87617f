"""Water in pipes, valves, pumps and packed beds: plain functions and small frozen records."""
