"""One module for each form that the tables have had."""
