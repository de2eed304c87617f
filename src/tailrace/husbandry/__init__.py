"""Fish, feed and what they ask of the water: plain functions and tables with sources."""
