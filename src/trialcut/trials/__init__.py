"""Trial cuts: coupons, readings, gauges, and what they tell about machine, material and tube."""
