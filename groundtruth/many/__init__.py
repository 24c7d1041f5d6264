"""Thousands of runs measured on Dask into one data set: each once, whatever dies on the way."""
