"""Many runs together: their data set, questions over it, what it teaches the next run."""
