"""From a run to its result: ground per gear turn, slip, row units, advice."""
