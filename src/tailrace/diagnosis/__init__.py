"""What is out of order, with the readings and the computed facts that say so."""
