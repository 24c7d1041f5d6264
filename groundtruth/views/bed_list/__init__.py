"""The list of beds to print: what lies where, since when, at which setting."""

from .page import bed_list_html

__all__ = ["bed_list_html"]
