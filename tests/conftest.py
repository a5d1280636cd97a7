"""What all tests share; this file also puts the folder on the path, so that tests can import ``referee``."""

from referee import requires_office

__all__ = ["requires_office"]
