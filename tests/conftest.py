"""Fixtures that several test modules share."""

from browser import browser

__all__ = ["browser"]
