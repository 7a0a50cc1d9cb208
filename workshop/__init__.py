"""The Django edge: records, pages, papers and background work round the two cores."""
