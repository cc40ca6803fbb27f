"""How a book of each earlier form becomes one of the next."""
