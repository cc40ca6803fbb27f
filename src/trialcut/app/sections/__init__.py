"""The sections of a study, each with its routes."""
