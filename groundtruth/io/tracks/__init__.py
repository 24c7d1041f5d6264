"""Track files of every format into a `Track`, repairs reported."""
