"""The decision: how every edge is cut, so that all demands hold and the lot costs least."""
