"""The recorder: a static page with which a phone writes down the track and the counts."""

from .site import RecorderSite, recorder_files, write_recorder

__all__ = ["RecorderSite", "recorder_files", "write_recorder"]
