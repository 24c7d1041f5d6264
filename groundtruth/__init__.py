"""groundtruth: the real ground covered per gear turn of ground-driven seeders."""

__version__ = "0.1.0"
