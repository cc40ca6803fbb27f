"""Water, abrasive, speed, kerf, lag, finish, piercing, wear and consumption: numbers in, numbers out."""
