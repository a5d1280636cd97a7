"""What all tests share; this file also puts the folder on the path, so that tests can import ``referee``."""

from hypothesis import settings
from referee import requires_office

# How long an example takes hangs on what else the machine does, and is no claim of any test.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")

__all__ = ["requires_office"]
