"""What bacteria do: stoichiometry, growth and inhibition, as plain functions and tables."""
