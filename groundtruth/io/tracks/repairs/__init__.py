"""What is mended in a track, each kind reported."""
