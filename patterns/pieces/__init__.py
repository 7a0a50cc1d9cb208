"""Pattern pieces: the value, and how the edges get their allowances."""
