"""Water and what is dissolved in it: plain functions of numbers."""
