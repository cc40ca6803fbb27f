"""What the next improvement is worth: prices, gauge, tube, one more trial, and every tolerance."""
