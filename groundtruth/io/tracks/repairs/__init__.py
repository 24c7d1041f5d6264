"""What is repaired in a track, each kind reported."""
