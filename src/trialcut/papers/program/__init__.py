"""A plain ISO 6983 program of a plan, for trial coupons and shops that want one, and its reader."""
