"""The virtual gauge: measures a forecast part the way people do."""
