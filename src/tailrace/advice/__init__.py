"""What to do: the air setting, the drain, the order of attention."""
