"""What the drawing asks, what the cut gives, and the search for the plan that holds it."""
