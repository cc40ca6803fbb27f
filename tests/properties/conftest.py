"""One profile for every property: the same examples each run, and no stop-watch on a busy machine."""

from hypothesis import settings

settings.register_profile("suite", deadline=None, derandomize=True, database=None)
settings.load_profile("suite")
