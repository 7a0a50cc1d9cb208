"""Writes: each service changes records in one transaction and leaves an audit row."""
