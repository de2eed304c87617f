"""Published values: rows of facts with their sources, and the functions they are held against."""
