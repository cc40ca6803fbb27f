"""The sections of the workbench, one module of addresses each."""
